"""The workbook, page and csv of a rescreen: the same bytes again, whole or not at all, and no text that runs."""

from __future__ import annotations

import csv
import hashlib
import io
import re
import shutil
import zipfile
from base64 import b64decode
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import duckdb
import openpyxl
import pytest

from screening.outputs.rescreen_files import files_of
from tests.conftest import Office

NAMES = ["flips.csv", "levels-moved.csv", "no-flip.csv", "portfolio.csv", "rescreen.html", "rescreen.xlsx"]
SHEETS = ["Rescreen", "Flips", "Levels moved", "Portfolio", "Versions", "No flip", "To know"]
HOSTILE = '=HYPERLINK("http://example.org")</td><script>alert(1)</script>'


@pytest.fixture(scope="module")
def document(store: Any) -> dict[str, Any]:
    """The document of the portfolio, with a site whose name and sample would run if they could."""
    made: dict[str, Any] = store.document
    worst = {**made["sites"][0], "site_name": HOSTILE}
    flip = {**made["flips"]["newly_exceeds"][0], "sample_id": "+1+1", "location": HOSTILE, "analyte": "@SUM(A1)"}
    rows = [{**made["portfolio"]["rows"][0], "site_name": HOSTILE}, *made["portfolio"]["rows"][1:]]
    return {
        **made, "sites": [worst, *made["sites"][1:]], "flips": {**made["flips"], "newly_exceeds": [flip, *made["flips"]["newly_exceeds"]]},
        "portfolio": {**made["portfolio"], "rows": rows},
    }  # fmt: skip


@pytest.fixture(scope="module")
def files(document: dict[str, Any]) -> dict[str, bytes]:
    return files_of(document)


def test_the_same_document_gives_the_same_bytes(document: dict[str, Any], files: dict[str, bytes]) -> None:
    assert files_of(document) == files and sorted(files) == NAMES


def test_sheets_have_filters_frozen_heads_and_every_row(document: dict[str, Any], files: dict[str, bytes]) -> None:
    book = openpyxl.load_workbook(io.BytesIO(files["rescreen.xlsx"]))
    assert book.sheetnames == SHEETS
    flips = [change for found in document["flips"].values() for change in found]
    sheet = book["Flips"]
    assert sheet.freeze_panes == "A5" and sheet.auto_filter.ref and sheet.auto_filter.ref.startswith("A4:")
    heads = {cell.value: cell.column for cell in sheet[4]}
    assert {"flip", "factor", "ten-fold", "level before", "level after", "version before", "version after", "levels read"} <= set(
        heads
    )
    for number, change in enumerate(flips, start=5):
        factor = sheet.cell(number, heads["factor"]).value
        assert (None if factor is None else float(str(factor))) == (float(change["factor"]) if change["factor"] else None)
        assert sheet.cell(number, heads["site"]).value == change["site"]
    assert book["Portfolio"].max_row >= 4 + len(document["portfolio"]["rows"])
    assert "screening aid" in str([cell.value for row in book["Rescreen"].iter_rows() for cell in row]).lower()


def test_texts_stay_texts(files: dict[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(files["rescreen.xlsx"])) as parts:
        sheets = {name: parts.read(name).decode() for name in parts.namelist() if name.startswith("xl/worksheets/sheet")}
        assert all("<f>" not in text for text in sheets.values()) and not [
            name for name in parts.namelist() if "vba" in name.lower()
        ]
        links = "".join(parts.read(name).decode() for name in parts.namelist() if name.endswith(".rels"))
        assert "http://example.org" not in links
    for name in NAMES[:4]:
        rows = list(csv.reader(io.StringIO(files[name].decode())))
        assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]
    flips = list(csv.DictReader(io.StringIO(files["flips.csv"].decode())))
    assert (flips[0]["location"], flips[0]["sample"], flips[0]["analyte"]) == (f"'{HOSTILE}", "'+1+1", "'@SUM(A1)")


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


def test_the_page_needs_nothing_and_lets_nothing_run(document: dict[str, Any], files: dict[str, bytes]) -> None:
    text = files["rescreen.html"].decode()
    page = _Page()
    page.feed(text)
    tags = [tag for tag, _ in page.tags]
    assert tags.count("script") == 1 and not {"link", "img", "iframe", "object"} & set(tags)
    links = [attributes.get("href") or "" for tag, attributes in page.tags if tag == "a"]
    assert links and all(link.startswith("#") for link in links)
    assert not [name for _, attributes in page.tags for name in attributes if name.startswith("on") or name == "style"]
    (allowed,) = [attributes["content"] or "" for tag, attributes in page.tags if attributes.get("http-equiv")]
    assert allowed.startswith("default-src 'none'")
    for kind in ("script", "style"):
        (own,) = re.findall(f"<{kind}>(.*?)</{kind}>", text, re.DOTALL)
        (told,) = re.findall(f"{kind}-src 'sha256-([^']+)'", allowed)
        assert b64decode(told) == hashlib.sha256(own.encode()).digest()
        assert "url(" not in own and "http" not in own
    heads = [index for index, tag in enumerate(tags) if tag == "th"]
    assert heads and all(tags[index + 1] == "button" for index in heads), "every column can be sorted by key"
    assert tags.count("tr") == sum(len(rows) + 1 for rows in _lists(document) if rows)
    assert "@media print" in text and "light dark" in text and "&lt;script&gt;alert(1)" in text


def _lists(document: dict[str, Any]) -> list[Any]:
    from screening.outputs.rescreen_lists import rescreen_lists

    return [one.rows for one in rescreen_lists(document)]


def test_files_are_written_whole_and_never_over_others(store: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    office = Office(tmp_path / "copy")
    office.folder.mkdir()
    shutil.copy(store.office.database, office.database)
    words = ["rescreen", "--levels-on", "2015-01-01", "--site", "still-000", "--to"]
    folder = tmp_path / "out"
    first = office.run(*words, folder)
    assert (first.status, first.document["files"]) == (0, [str(folder / name) for name in NAMES])
    bytes_then = {name: (folder / name).read_bytes() for name in NAMES}
    again = office.run(*words, folder)
    assert again.status == 1 and "is there already" in again.error
    with duckdb.connect(office.database, read_only=True) as connection:
        assert connection.execute("SELECT count(*) FROM rescreen").fetchone() == (2,), "refused before anything was done"
    monkeypatch.setattr("screening.outputs.package.os.replace", _broken)
    assert office.run(*words, tmp_path / "other").status == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy", "out"]
    monkeypatch.undo()
    assert office.run(*words, folder, "--force").status == 0
    assert {name: (folder / name).read_bytes() for name in NAMES} == bytes_then


def _broken(*_: object) -> None:
    raise OSError(28, "No space left on device")
