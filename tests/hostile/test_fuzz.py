"""A small part of the fuzzing (`make fuzz` tries 100,000 inputs): seeds that must be read, inputs that follow from numbers."""

from __future__ import annotations

import contextlib
import os
import tomllib
from pathlib import Path

import fuzz
import pytest
import seeds
from guard import Trespass, watched
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mutate import CELLS, NUMBERS
from targets import GOOD, targets

from screening.deliverable.cells import read_book
from screening.errors import Refused
from screening.files import parse_toml
from screening.levels.table import parse_facts
from screening.site.site_file import parse_site

KINDS = targets()
FEW = settings(max_examples=40, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the good deliverable that layouts are tried on."""
    made = tmp_path_factory.mktemp("fuzz")
    (made / GOOD).write_bytes(seeds.text(seeds.LONG))
    return made


@pytest.mark.parametrize("name", KINDS)
def test_every_seed_is_read(folder: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of what no target reads, nothing could be learned."""
    monkeypatch.chdir(folder)
    _, held, target = KINDS[name]
    for ending, files in held.items():
        for data in files if name == "cells" else files[:1]:
            path = folder / f"seed{ending}"
            path.write_bytes(data)
            target(path)


@FEW
@given(number=st.integers(min_value=0, max_value=2**32))
def test_an_input_is_read_or_refused(folder: Path, number: int) -> None:
    before = os.getcwd()
    os.chdir(folder)
    try:
        tried = fuzz.attempt(number, folder, {name: kind for name, kind in KINDS.items() if name != "deliverable"}, "small")
    finally:
        os.chdir(before)
    assert tried.became in ("read", "refused"), tried


_cell = st.sampled_from([*CELLS, *NUMBERS]) | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
_table = st.lists(st.lists(_cell, min_size=1, max_size=6), min_size=1, max_size=6)


@FEW
@given(table=_table)
def test_texts_come_out_of_a_container_as_they_went_in(folder: Path, table: list[list[str]]) -> None:
    """Of csv, whatever the cells are; and no container loses a row number."""
    path = folder / "table.csv"
    path.write_bytes(seeds.text([["first", "second"], *table]))
    try:
        book = read_book(path)
    except Refused:
        return
    (sheet,) = book.sheets
    rows = [list(row) for row in sheet.rows]
    if len(rows) == len(table) + 1 and "comma" in book.notes[0] and not any("\r" in cell for row in table for cell in row):
        for row, wanted in zip(rows[1:], table, strict=True):
            assert row[: len(wanted)] == [cell.strip() for cell in wanted]


@settings(FEW, max_examples=20)
@given(text=st.text(max_size=200) | st.lists(_cell, max_size=8).map("\n".join))
def test_settings_of_any_text_are_read_or_refused(text: str) -> None:
    for read in (lambda: parse_site(text, "x.toml"), lambda: parse_facts("own/x", text, "x.toml"), lambda: parse_toml(text)):
        with contextlib.suppress(Refused, tomllib.TOMLDecodeError):
            read()


def test_the_guard_sees_what_must_not_be(tmp_path: Path) -> None:
    import socket
    import subprocess

    (tmp_path / "inner").mkdir()
    with watched(tmp_path / "inner"):
        (tmp_path / "inner" / "a").write_text("x")
        for deed in (
            lambda: (tmp_path / "b").write_text("x"), lambda: (tmp_path / "inner" / "a").rename(tmp_path / "c"), lambda: subprocess.run(["true"]),
            lambda: socket.create_connection(("192.0.2.1", 9), 0.1), lambda: os.system("true"), lambda: (tmp_path / "d").mkdir(),
        ):  # fmt: skip
            with pytest.raises(Trespass):
                deed()
    assert [path.name for path in tmp_path.rglob("*")] == ["inner", "a"]
