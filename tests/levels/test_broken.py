"""Tables broken on purpose: each folder below broken/ holds one, and the words that its message must contain."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

BROKEN = Path(__file__).resolve().parent / "broken"
CASES = sorted(path.name for path in BROKEN.iterdir())


@pytest.mark.parametrize("case", CASES)
def test_a_broken_table_is_told_in_words(office: Any, case: str) -> None:
    said = office.run("levels", "check", BROKEN / case)
    told = "\n".join(
        f"{item['file']}{', row ' + str(item['row']) if item['row'] else ''}: {item['text']}"
        for item in said.document["problems"]
    )
    assert said.status == 1
    for words in (BROKEN / case / "words.txt").read_text(encoding="utf-8").splitlines():
        assert words in told
    assert "made-up" in told
