"""A picture as png, drawn with the fonts that come with it, so that every machine draws the same."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

from screening.outputs.pictures.letters import BOLD, FONTS, REGULAR

PLAN_WIDTH, PRINT_WIDTH = 2200, 1650
"""Pixels across a sheet of 11 inches: 200 to the inch for the plan, 150 for diagrams."""


@lru_cache(maxsize=32)
def png(svg: str, width_px: int = PRINT_WIDTH) -> bytes:
    """The picture so many pixels wide. Letters that the fonts lack are drawn as empty boxes; the svg shows them as its reader can."""
    import resvg_py

    with resources.as_file(FONTS / REGULAR) as regular, resources.as_file(FONTS / BOLD) as bold:
        drawn = resvg_py.svg_to_bytes(
            svg_string=svg, width=width_px, dpi=96, skip_system_fonts=True, font_files=[str(regular), str(bold)],
            font_family="Liberation Sans", sans_serif_family="Liberation Sans",
        )  # fmt: skip
    return bytes(drawn)
