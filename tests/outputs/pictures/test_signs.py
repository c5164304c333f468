"""Signs are told apart without colour, in grey print too; text and marks stand out from the paper.

Contrast by WCAG 2.2: text at least 4.5 : 1 (1.4.3), graphics that carry meaning at least 3 : 1 (1.4.11); relative luminance as its
glossary defines it.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from itertools import combinations

import numpy as np
import pytest
from PIL import Image

from screening.outputs.pictures.axes import GRID
from screening.outputs.pictures.raster import png
from screening.outputs.pictures.signs import SIGNS, mark
from screening.outputs.pictures.svg import PAPER, sheet
from tests.outputs.pictures import drawn

BACKGROUNDS = ("#EEF0F2", "#E8EEF5", "#E4E7EB", "#F3F4F6", "#D5DAE0")
"""Shades behind texts and marks, and the bar of a deadline that was met; they carry no meaning alone."""
DECORATION = {GRID, *BACKGROUNDS}


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_measure_is_that_of_the_standard() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.005)  # the known grey that just fails


def test_colours_of_every_picture_stand_out(demo_pictures: Mapping[str, str]) -> None:
    texts: set[str] = set()
    shapes: set[str] = set()
    for svg in demo_pictures.values():
        for node in drawn.read(svg).iter():
            into = texts if node.tag == f"{drawn.SVG}text" else shapes
            into.update(node.attrib[key] for key in ("fill", "stroke") if node.get(key, "none") not in ("none", PAPER))
    assert texts and shapes - DECORATION
    for colour in texts:
        assert min(contrast(colour, under) for under in (PAPER, *BACKGROUNDS[:4])) >= 4.5, colour
    for colour in shapes - DECORATION:
        assert contrast(colour, PAPER) >= 3, colour


def _grey(name: str) -> np.ndarray:
    """A sign as it is printed, in grey, 40 dots wide."""
    drawing = png(sheet("one", 12, 12, name, name, [mark(name, 6, 6, 10)]), 40)
    return np.asarray(Image.open(io.BytesIO(drawing)).convert("L"), dtype=float) / 255


def test_signs_differ_in_grey_by_their_shape() -> None:
    """Of what either of a pair inks, more than half is not inked alike once both are black and white (own measure)."""
    inked = {name: _grey(name) < 0.75 for name in SIGNS}
    for one, other in combinations(SIGNS, 2):
        unlike = (inked[one] ^ inked[other]).sum() / (inked[one] | inked[other]).sum()
        assert unlike > 0.5, f"{one} and {other} look alike: {unlike:.2f}"


def test_the_meaning_is_not_in_the_colour() -> None:
    """The same shapes in one colour are still all different."""
    plain = {name: mark(name, 6, 6, 10).write().replace(sign.colour, "#000000").replace(name, "") for name, sign in SIGNS.items()}
    assert len(set(plain.values())) == len(SIGNS)
