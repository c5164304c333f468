"""The shipped template of the closure assessment section, made anew each time so that it holds nothing that is not written here."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import docx
from docx.enum.section import WD_ORIENT
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Inches, Pt, RGBColor

from screening.outputs.document.zipped import zipped

_STATEMENT = (
    "I have read the results, levels, open comparisons, gaps and assumptions listed in this section, the laboratory reports and the custody "
    "records behind them, and the rule in force. My decision on this closure is my own; the screening is an aid and does not replace it.",
    "Where the jurisdiction prescribes a form for this statement, that form is used in its place.",
)
_FIGURES = ("plan_pictures", "levels_pictures", "profiles_pictures", "series_pictures", "allowed_statistics_pictures", "checks_pictures")  # fmt: skip
_TABLES = ("exceedances_table", "open_table", "result_tables", "no_level_table", "duplicates_table", "levels_table", "quality_table", "coverage_table")  # fmt: skip
_SIGNED = ("Name", "Licence and number", "State", "Signature", "Date")


@lru_cache(maxsize=1)
def shipped() -> bytes:
    """The template as a Word document."""
    document = docx.Document()
    _styles(document)
    _page(document.sections[0])
    _frame(document.sections[0])
    _front(document)
    _body(document)
    section = document.add_section()
    section.orientation = WD_ORIENT.LANDSCAPE
    section.page_width, section.page_height = section.page_height, section.page_width
    section.left_margin = section.right_margin = section.bottom_margin = section.top_margin = Inches(0.6)
    section.header_distance = section.footer_distance = Inches(0.3)
    document.add_heading("Figures and tables", 1)
    for name in _FIGURES:
        document.add_paragraph(f"{{{{ {name} }}}}")
    document.add_paragraph("Marks in the tables: {{ key | join('; ') }}.")
    for name in _TABLES:
        document.add_paragraph(f"{{{{ {name} }}}}")
    return zipped(document)


def _styles(document: Any) -> None:
    for name in ("Normal", "Title", "Heading 1", "Heading 2", "List Bullet", "Header", "Footer"):
        style = document.styles[name]
        style.font.name = "Arial"
        style.element.get_or_add_rPr().get_or_add_rFonts().set(qn("w:eastAsia"), "Arial")
        for theme in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
            style.element.rPr.rFonts.attrib.pop(qn(f"w:{theme}"), None)
        style.font.color.rgb = RGBColor(0, 0, 0)
    document.styles["Normal"].font.size = Pt(10)
    document.styles["Normal"].paragraph_format.space_after = Pt(4)
    document.styles["Title"].font.size = Pt(20)
    document.styles["Heading 1"].font.size = Pt(14)
    document.styles["Header"].font.size = document.styles["Footer"].font.size = Pt(8)


def _page(section: Any) -> None:
    section.page_width, section.page_height = Inches(8.5), Inches(11)
    section.left_margin = section.right_margin = Inches(0.9)
    section.top_margin, section.bottom_margin = Inches(0.9), Inches(0.8)


def _frame(section: Any) -> None:
    section.header.paragraphs[
        0
    ].text = "{{ site_name }} (site {{ site_id }}){% if stale %} - STALE: the data have changed since{% endif %}"
    footer = section.footer.paragraphs[0]
    footer.text = "run {{ run }}, data state {{ data_state }}; a screening aid for a licensed professional's decision; page "
    _number(footer, "PAGE")
    footer.add_run(" of ")
    _number(footer, "NUMPAGES")


def _number(paragraph: Any, code: str) -> None:
    for kind, text in (("begin", None), (None, code), ("separate", None), ("", "1"), ("end", None)):
        run = paragraph.add_run(text if kind == "" else None)
        if kind:
            mark = OxmlElement("w:fldChar")
            mark.set(qn("w:fldCharType"), kind)
            run._r.append(mark)
        elif kind is None:
            told = OxmlElement("w:instrText")
            told.text = text
            run._r.append(told)


def _front(document: Any) -> None:
    document.add_paragraph("Closure assessment", style="Title")
    document.add_paragraph(
        "{{ site_name }}{% if address %}, {{ address }}{% endif %}{% if facility_number %}, facility {{ facility_number }}{% endif %}"
    )
    document.add_paragraph("Run {{ run }}, data state {{ data_state }}, seen from {{ today }}.")
    document.add_paragraph("{%p if stale %}")
    document.add_paragraph().add_run("{{ stale }}").bold = True
    document.add_paragraph("{%p endif %}")
    document.add_heading("1 Summary", 1)
    document.add_paragraph().add_run("{{ status_words }}").bold = True
    _each(document, "summary")
    document.add_paragraph(
        "Of the comparisons {{ counts.exceeds }} exceed, {{ counts.open }} are open, {{ counts.no_level }} have no level listed and "
        "{{ counts.does_not_exceed }} do not exceed; {{ held_back }} rows are held back. What is open, held back, missing or without a level "
        "is not clean."
    )
    for name in ("caution", "site_caution"):
        document.add_paragraph().add_run(f"{{{{ {name} }}}}").italic = True


def _body(document: Any) -> None:
    document.add_heading("2 Site and tanks", 1)
    document.add_paragraph("{{ components_table }}")
    _if(document, "signs", "Seen in the field: {{ signs | join(', ') }}.")
    document.add_heading("3 Methods", 1)
    _each(document, "methods")
    document.add_heading("4 Findings", 1)
    document.add_paragraph(
        "The figures and tables at the end show every exceedance, every open comparison and all results with their levels."
    )
    document.add_paragraph("{{ exceedances_by_analyte_table }}")
    _if(document, "actions", "What would close what is open:")
    _each(document, "actions", "List Bullet")
    _if(document, "warnings", "To be checked before these data are relied on:")
    _each(document, "warnings", "List Bullet")
    document.add_heading("5 Quality review", 1)
    document.add_paragraph("{{ quality_paragraph }}")
    document.add_heading("6 Coverage of the sampling", 1)
    document.add_paragraph("{{ coverage_words }}. The table at the end shows what is required, taken and missing.")
    _each(document, "coverage_notes", "List Bullet")
    document.add_heading("7 Deadlines", 1)
    document.add_paragraph("{{ deadlines_table }}")
    document.add_heading("8 Papers of the closure report", 1)
    document.add_paragraph("{{ papers_table }}")
    document.add_heading("9 Assumptions", 1)
    _each(document, "assumptions", "List Bullet")
    document.add_heading("10 Statement of the licensed professional", 1)
    for text in _STATEMENT:
        document.add_paragraph(text).paragraph_format.keep_with_next = True
    for text in _SIGNED:
        paragraph = document.add_paragraph(f"{text}: ")
        paragraph.add_run("_" * 48)
        paragraph.paragraph_format.space_before = Pt(10)
        paragraph.paragraph_format.keep_with_next = text != _SIGNED[-1]
    document.add_heading("11 Appendices", 1)
    _each(document, "appendices", "List Number")
    document.add_paragraph("{{ files_table }}")


def _if(document: Any, field: str, text: str) -> None:
    document.add_paragraph(f"{{%p if {field} %}}")
    document.add_paragraph(text)
    document.add_paragraph("{%p endif %}")


def _each(document: Any, field: str, style: str | None = None) -> None:
    document.add_paragraph(f"{{%p for line in {field} %}}")
    document.add_paragraph("{{ line }}", style=style)
    document.add_paragraph("{%p endfor %}")
