"""The command `report`: what it writes, what it refuses, and a template of one's own."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import docx
import pytest

from tests.conftest import Office


@pytest.fixture(scope="module")
def run(tmp_path_factory: Any) -> tuple[Office, str]:
    """A run of one result."""
    office = Office(tmp_path_factory.mktemp("report"))
    office.plain_site()
    row = {"sample_id": "S1", "medium": "soil", "analyte": "Benzene", "result": "0.3", "unit": "mg/kg", "basis": "dry"}
    office.run("import", office.deliverable("lab.csv", [row]), "--site", "one")
    return office, str(office.run("screen", "--site", "one").document["run"])


def _written(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_only_what_is_asked_for_and_nothing_over_what_is_there(run: tuple[Office, str], tmp_path: Path) -> None:
    office, made = run
    to = tmp_path / "to"
    words = ("report", "--run", made, "--to", to, "--only", "data")
    said = office.run(*words)
    assert said.status == 0 and said.document["files"] == [str(path) for path in sorted(to.rglob("*")) if path.is_file()]
    assert {Path(name).parts[0] for name in _written(to)} == {"data"}
    before = _written(to)
    again = office.run(*words)
    assert again.status == 1 and "is there already" in again.error and "--force" in again.error
    assert office.run(*words, "--force").status == 0 and _written(to) == before, "the same run is the same bytes"


@pytest.mark.parametrize(
    ("words", "status", "told"),
    [
        (("--only", "poster"), 2, "--only poster: is unknown; known are workbook, page, document, data, plan"),
        (("--only", "document", "--template", "no.docx"), 1, "no.docx: is no Word document (docx) that can be read"),
    ],
)
def test_what_cannot_be_done_writes_nothing(
    run: tuple[Office, str], tmp_path: Path, words: tuple[str, ...], status: int, told: str
) -> None:
    office, made = run
    said = office.run("report", "--run", made, "--to", tmp_path / "to", *words)
    assert said.status == status and told in said.error
    assert list(tmp_path.iterdir()) == []


def test_a_run_and_a_folder_are_needed(office: Office) -> None:
    said = office.run("report", "--to", office.folder)
    assert said.status == 2 and "say which run and where: --run RUN --to DIR" in said.error


def test_the_shipped_template_can_be_saved_changed_and_used(run: tuple[Office, str], tmp_path: Path) -> None:
    office, made = run
    own = tmp_path / "own.docx"
    assert office.run("report", "--save-template", own).document == {"files": [str(own)]}
    assert office.run("report", "--save-template", own).status == 1, "not over one that is there"
    template: Any = docx.Document(str(own))
    template.paragraphs[0].text = "Closure of {{ site_id }} by our own form"
    template.save(str(own))
    said = office.run("report", "--run", made, "--to", tmp_path / "to", "--only", "document", "--template", own)
    assert said.status == 0, said.error
    document = docx.Document(io.BytesIO((tmp_path / "to" / "document.docx").read_bytes()))
    assert document.paragraphs[0].text == "Closure of one by our own form"
    assert any(row.cells[0].text == "E" for table in document.tables for row in table.rows)
