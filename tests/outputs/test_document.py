"""The document read back by another way than it was written: its tables, marks, pictures and texts against the run."""

from __future__ import annotations

import io
import zipfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import docx
import pytest

from screening.decision.contents import Contents
from screening.errors import Refused
from screening.outputs import document
from screening.outputs.document.fields import BLOCKS, fields
from screening.outputs.document.filled import filled
from tests.outputs.read_back import LETTERS, counted, document_tables

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


@pytest.fixture(scope="module")
def written(package: Mapping[str, bytes]) -> Any:
    """The document opened."""
    return docx.Document(io.BytesIO(package["document.docx"]))


@pytest.fixture(scope="module")
def tables(written: Any) -> dict[str, list[list[str]]]:
    """Its tables by title."""
    return document_tables(written)


def _results(tables: Mapping[str, list[list[str]]]) -> list[tuple[str, str, str]]:
    """Sample, analyte and text of every result cell."""
    found = []
    for title, rows in tables.items():
        if not title.startswith(("Soil results", "Groundwater results")):
            continue
        samples = next(row[1:] for row in rows if row[0] == "Sample")
        head = next(at for at, row in enumerate(rows) if row[0] == "Analyte")
        for row in rows[head + 1 :]:
            found += [(sample, row[0], text) for sample, text in zip(samples, row[-len(samples) :], strict=True)]
    return found


@pytest.mark.parametrize("outcome", LETTERS)
def test_marks_of_the_result_tables_are_the_counts_of_the_run(tables: Any, contents: Contents, outcome: str) -> None:
    marks = Counter((sample, analyte) for sample, analyte, text in _results(tables) if text.startswith(f"{LETTERS[outcome]} "))
    assert marks == counted(contents.answer, outcome)


@pytest.mark.parametrize(
    ("outcome", "title"),
    [("exceeds", "Exceedances: 22 comparisons at 8 locations"), ("open", "Open: 14 comparisons, 2 rows held back, 2 gaps")],
)
def test_lists_hold_every_one(tables: Any, contents: Contents, outcome: str, title: str) -> None:
    head, *rows = tables[title]
    sample, analyte, mark = (head.index(name) for name in ("Sample", "Analyte", "Mark"))
    assert Counter((row[sample], row[analyte]) for row in rows if row[mark] == LETTERS[outcome]) == counted(
        contents.answer, outcome
    )


def test_marks_hold_without_colour(written: Any) -> None:
    boxes = Counter()
    for cell in written.element.body.iter(f"{W}tc"):
        text = "".join(node.text or "" for node in cell.iter(f"{W}t"))
        edge = cell.find(f"{W}tcPr/{W}tcBorders/{W}top")
        if edge is not None:
            boxes[text[:1], edge.get(f"{W}val")] += 1
            assert (cell.find(f".//{W}b") is not None) == (text[:1] == "E"), text
    assert boxes == {("E", "single"): 44, ("?", "dashed"): 28}  # once in the tables and once in the list


def test_heads_come_again_on_every_page(written: Any) -> None:
    for table in written.element.body.iter(f"{W}tbl"):
        assert table.find(f"{W}tr/{W}trPr/{W}tblHeader") is not None


def test_wide_tables_stand_on_landscape_pages(written: Any) -> None:
    assert [section.orientation for section in written.sections] == [0, 1]
    page = written.sections[1]
    room = (page.page_width - page.left_margin - page.right_margin) / 635
    for table in written.element.body.iter(f"{W}tbl"):
        assert sum(int(column.get(f"{W}w")) for column in table.iter(f"{W}gridCol")) <= room


def test_it_says_what_a_closure_section_must_say(written: Any, contents: Contents) -> None:
    texts = [paragraph.text for paragraph in written.paragraphs]
    heads = [paragraph.text for paragraph in written.paragraphs if paragraph.style.name == "Heading 1"]
    for words in (
        "Summary",
        "Site and tanks",
        "Methods",
        "Quality review",
        "Coverage",
        "Deadlines",
        "Papers",
        "Statement of the licensed",
        "Appendices",
    ):
        assert any(words in head for head in heads), words
    told = "\n".join(texts)
    answer = contents.answer
    assert "CORRECTIVE ACTION IS INDICATED (triggered)" in texts and answer["recommendation"]["caution"] in texts
    assert contents.review["summary"] in texts
    assert "analysed by 8011, 8015D extractable, 8015D purgeable, 8260D" in told
    for words in ("Signature: ____", "Licence and number: ____", "pemberwick-volatiles.csv", "sundrell-petroleum.xlsx"):
        assert words in told
    (missing,) = [text for text in texts if text.startswith("MISSING: ")]
    for one in contents.papers["missing"]:
        assert one in missing.removeprefix("MISSING: ").split("; ")
    for name in BLOCKS:
        assert name not in told


def test_pictures_have_words_for_who_cannot_see_them(written: Any) -> None:
    described = [node.get("descr") for node in written.element.body.iter() if node.tag.endswith("}docPr")]
    assert described and all(described) and described[0].startswith("Plan of Aldquist Fuel & Garage")


def test_the_same_run_is_the_same_bytes(package: Mapping[str, bytes], contents: Contents) -> None:
    assert document.files(contents)["document.docx"] == package["document.docx"]


def _own(path: Path, *texts: str) -> Path:
    made = docx.Document()
    for text in texts:
        made.add_paragraph(text)
    made.save(str(path))
    return path


def test_a_template_of_ones_own(tmp_path: Path, contents: Contents) -> None:
    own = _own(
        tmp_path / "own.docx",
        "Site: {{ site_name }}",
        "{{ exceedances_table }}",
        "{%p for line in summary %}",
        "- {{ line }}",
        "{%p endfor %}",
    )
    made = docx.Document(io.BytesIO(document.files(contents, own)["document.docx"]))
    assert made.paragraphs[0].text == "Site: Aldquist Fuel & Garage, Tolverton (invented)"
    assert "- 14 comparisons are open and 2 rows are held back; they are not clean" in [one.text for one in made.paragraphs]
    assert len(made.tables[0].rows) == 23


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (("{{ site_nome }}",), r"own\.docx: 'site_nome' is undefined; the fields are actions, address,"),
        (("{% if run %}",), r"own\.docx: cannot be filled: .*; mend the field in the template"),
        (("{{ site_name.__class__.__mro__ }}",), r"own\.docx: .*"),
    ],
)
def test_a_template_with_a_fault_is_refused(tmp_path: Path, contents: Contents, texts: tuple[str, ...], words: str) -> None:
    with pytest.raises(Refused, match=words):
        document.files(contents, _own(tmp_path / "own.docx", *texts))


def test_what_is_no_word_document_is_refused(tmp_path: Path, contents: Contents) -> None:
    (tmp_path / "own.docx").write_text("hello")
    with pytest.raises(Refused, match=r"own\.docx: is no Word document \(docx\) that can be read"):
        document.files(contents, tmp_path / "own.docx")


@pytest.mark.parametrize(
    "name", ["site_name", "address", "caution", "summary", "reasons", "assumptions", "methods", "appendices"]
)
def test_markup_in_a_field_stays_text(tmp_path: Path, contents: Contents, name: str) -> None:
    """Each field in turn holds all that markup is made of; it comes out as it went in."""
    odd = "</w:t></w:r><b>&amp; & < > \" ' {{ 7*7 }} {% raw %} &#x41; ]]>"
    given = fields(contents)
    many = isinstance(given[name], list)
    given[name] = [odd] if many else odd
    texts = (f"{{%p for line in {name} %}}", "{{ line }}", "{%p endfor %}") if many else (f"{{{{ {name} }}}}",)
    own = _own(tmp_path / "own.docx", *texts)
    made = docx.Document(io.BytesIO(filled(own, given)))
    assert odd in [paragraph.text for paragraph in made.paragraphs]


def test_a_name_with_markup_is_well_formed_everywhere(contents: Contents) -> None:
    site = contents.site.changed(site=contents.site.site.changed(address='1 <Main> & "Co"'))
    answer = {**contents.answer, "site_name": "A & B <C> {{ x }}"}
    data = document.files(replace(contents, answer=answer, site=site))["document.docx"]
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            if name.endswith(".xml"):
                ElementTree.fromstring(archive.read(name))
    made = docx.Document(io.BytesIO(data))
    assert any('A & B <C> {{ x }}, 1 <Main> & "Co"' in paragraph.text for paragraph in made.paragraphs)
    assert "A & B <C>" in made.sections[0].header.paragraphs[0].text
    assert made.core_properties.title == "Closure assessment: A & B <C> {{ x }}"
