"""The catalogue of level tables in README.md: made from standards/, and tested to be current."""

from __future__ import annotations

import sys
from pathlib import Path

from screening.levels.catalogue import as_markdown, catalogue
from screening.levels.versions import Standards, standards_folder

README = Path(__file__).resolve().parents[2] / "README.md"
BEGIN, END = "<!-- tables: made by make readme -->\n", "<!-- end of tables -->"


def current() -> str:
    """README.md with the catalogue as it is now."""
    text = README.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN)
    after = rest.split(END, 1)[1]
    return before + BEGIN + as_markdown(catalogue(Standards([standards_folder()]))) + END + after


if __name__ == "__main__":
    if sys.argv[1:] == ["--write"]:
        README.write_text(current(), encoding="utf-8")
