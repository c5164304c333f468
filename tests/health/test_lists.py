"""Every csv that the tool ships is UTF-8 text, rectangular, and without stray blanks around its headings."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LISTS = [path for part in ("demo", "standards", "screening/vocabulary") for path in sorted((ROOT / part).rglob("*.csv"))]


@pytest.mark.parametrize("path", LISTS, ids=[str(path.relative_to(ROOT)) for path in LISTS])
def test_a_list_is_clean(path: Path) -> None:
    data = path.read_bytes()
    text = data.decode("utf-8")
    assert "\ufeff" not in text and "\x00" not in text and "\ufffd" not in text
    assert "\r" not in text.replace("\r\n", "\n")
    rows = list(csv.reader(text.splitlines(keepends=True)))
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}
    assert all(heading and heading == heading.strip() for heading in rows[0])
    assert len(set(rows[0])) == len(rows[0])


def test_there_are_lists() -> None:
    assert {path.relative_to(ROOT).parts[0] for path in LISTS} == {"demo", "standards", "screening"}
