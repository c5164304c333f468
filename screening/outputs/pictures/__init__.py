"""Pictures of a run: the site plan and diagrams, as svg and png."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from screening.decision.contents import Contents


@lru_cache(maxsize=2)
def drawn(contents: Contents) -> tuple[tuple[str, str], ...]:
    """Every picture that the run has something for: its name and its svg. Drawn once, however many outputs show it."""
    return tuple(_drawn(contents))


def _drawn(contents: Contents) -> Iterator[tuple[str, str]]:
    from screening.decision.report_statistics import statistics_worth_showing
    from screening.outputs.pictures import checks, deadlines, levels, plan, profile, statistics, wells

    first, *more = plan.sheets(contents)
    yield "plan", first
    yield from ((f"plan-list-{at}", svg) for at, svg in enumerate(more, start=2))
    if contents.answer["outcomes"]:
        yield from ((f"pictures/levels-{at}", svg) for at, svg in enumerate(levels.dot_plots(contents), start=1))
    yield from ((f"pictures/profiles-{at}", svg) for at, svg in enumerate(profile.profiles(contents), start=1))
    yield from ((f"pictures/series-{at}", svg) for at, svg in enumerate(wells.all_series(contents), start=1))
    yield "pictures/deadlines", deadlines.strip(contents)
    if contents.review["grid"]:
        yield from ((f"pictures/checks-{at}", svg) for at, svg in enumerate(checks.grids(contents), start=1))
    shown = [
        picture
        for document in statistics_worth_showing(contents.answer, contents.standards)
        for picture in (*statistics.distributions(contents, document), *statistics.trends(contents, document))
    ]
    yield from ((f"pictures/statistics-{at}", svg) for at, svg in enumerate(shown, start=1))


def as_png(name: str, svg: str) -> bytes:
    """A picture at the resolution of print."""
    from screening.outputs.pictures.raster import PLAN_WIDTH, PRINT_WIDTH, png

    return png(svg, PLAN_WIDTH if name == "plan" else PRINT_WIDTH)


def files(contents: Contents) -> dict[str, bytes]:
    """Every picture as svg and as png: name within the package to bytes."""
    made: dict[str, bytes] = {}
    for name, svg in drawn(contents):
        made |= {f"{name}.svg": svg.encode(), f"{name}.png": as_png(name, svg)}
    return made
