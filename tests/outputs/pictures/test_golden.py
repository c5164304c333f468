"""The structure of the demo's pictures: what stands in them, in order, without where it stands.

`SCREENING_GOLDEN=write` writes the golden file anew; look at the pictures before it is kept.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from screening.decision.contents import Contents
from tests.outputs.pictures import drawn

GOLDEN = Path(__file__).parents[1] / "golden" / "pictures.txt"


def structure(pictures: Mapping[str, str]) -> str:
    """Of each picture its size, title, layers, and texts as they are read."""
    told: list[str] = []
    for name, svg in pictures.items():
        picture = drawn.read(svg)
        title = picture.findtext(f"{drawn.SVG}title")
        wide, high = drawn.size(picture)
        told += [f"== {name} ({wide:g} x {high:g}): {title}"]
        layers = [(node.get("data-layer"), len(node)) for node in picture.iter(f"{drawn.SVG}g") if node.get("data-layer")]
        told += ["layers: " + ", ".join(f"{layer} {count}" for layer, count in layers)] if layers else []
        told += [" ".join((node.text or "").split()) for node in picture.iter(f"{drawn.SVG}text")]
    return "\n".join(told) + "\n"


def test_the_structure_is_that_of_the_golden_file(contents: Contents, demo_pictures: Mapping[str, str]) -> None:
    found = structure(demo_pictures).replace(contents.answer["run"], "RUN").replace(contents.answer["data"], "DATA")
    if os.environ.get("SCREENING_GOLDEN") == "write":
        GOLDEN.parent.mkdir(exist_ok=True)
        GOLDEN.write_text(found, encoding="utf-8")
    assert found.splitlines() == GOLDEN.read_text(encoding="utf-8").splitlines()
