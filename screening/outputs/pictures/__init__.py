"""Pictures of a run: the site plan and diagrams, as svg and png."""

from __future__ import annotations

from collections.abc import Iterator

from screening.decision.contents import Contents


def drawn(contents: Contents) -> Iterator[tuple[str, str]]:
    """Every picture that the run has something for: its name and its svg."""
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


def files(contents: Contents) -> dict[str, bytes]:
    """Every picture as svg and as png: name within the package to bytes."""
    from screening.outputs.pictures.raster import PLAN_WIDTH, PRINT_WIDTH, png

    made: dict[str, bytes] = {}
    for name, svg in drawn(contents):
        made |= {f"{name}.svg": svg.encode(), f"{name}.png": png(svg, PLAN_WIDTH if name == "plan" else PRINT_WIDTH)}
    return made
