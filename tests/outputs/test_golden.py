"""The structure of the demo's package is that of the golden files; `make golden` writes them anew."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from tests.outputs.structure import structures

GOLDEN = Path(__file__).parent / "golden"


def test_the_structure_is_golden(package: Mapping[str, bytes]) -> None:
    found = structures(package)
    if os.environ.get("SCREENING_GOLDEN") == "write":
        GOLDEN.mkdir(exist_ok=True)
        for name, text in found.items():
            (GOLDEN / name).write_text(text, encoding="utf-8")
    for name, text in found.items():
        assert text == (GOLDEN / name).read_text(encoding="utf-8"), f"{name} differs; 'make golden' writes it anew"
