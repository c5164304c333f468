"""A small store answers its questions as they are written, a large one after a look for a better way: the answers are one."""

from pathlib import Path

import pytest

from screening.store import database
from tests.conftest import Office

DEMO = Path(__file__).resolve().parents[2] / "demo"


def _answers(folder: Path) -> list[object]:
    folder.mkdir()
    office = Office(folder)
    assert office.run("site", "add", DEMO / "site.toml").status == 0
    told: list[object] = []
    for file in ("pemberwick-volatiles.csv", "sundrell-petroleum.xlsx"):
        told.append(office.run("import", DEMO / file, "--site", "tolverton", "--received", "2025-03-20").document)
    told.append(office.run("screen", "--site", "tolverton").document)
    assert all(told)
    told.append(office.stored("tolverton"))
    return told


def test_no_answer_hangs_on_how_the_database_finds_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "FEW_ROWS", 10**6)
    as_written = _answers(tmp_path / "small")
    monkeypatch.setattr(database, "FEW_ROWS", 0)
    monkeypatch.setattr(database, "FEW_BYTES", 0)
    assert _answers(tmp_path / "large") == as_written
