"""Pictures of a run: the site plan and diagrams, as svg and png."""

from __future__ import annotations

from screening.decision.contents import Contents


def files(contents: Contents) -> dict[str, bytes]:
    """Every picture that the run has something for: name within the package to bytes."""
    from screening.outputs.pictures.plan import sheets
    from screening.outputs.pictures.raster import png

    first, *more = sheets(contents)
    drawn = {"plan": first} | {f"plan-list-{number}": sheet for number, sheet in enumerate(more, start=2)}
    made: dict[str, bytes] = {}
    for name, svg in drawn.items():
        made |= {f"{name}.svg": svg.encode(), f"{name}.png": png(svg)}
    return made
