"""A table of levels as a person has it in a csv or workbook: its header found, media that stand across laid down, odd cells found."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from screening.deliverable.cells import Book, Sheet
from screening.errors import Refused
from screening.levels.figures import Kind, read_figure
from screening.levels.table import COLUMNS, OPTIONAL
from screening.vocabulary import cas as cas_numbers
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.units import read_unit

HEADINGS: Mapping[str, tuple[str, ...]] = {
    "analyte": ("analyte", "substance", "compound", "chemical", "constituent", "contaminant", "parameter", "chemical of concern"),
    "cas": ("cas", "cas number", "cas no", "cas no.", "cas rn"),
    "medium": ("medium", "matrix", "media"),
    "level": (
        "level",
        "action level",
        "standard",
        "criterion",
        "cleanup level",
        "screening level",
        "limit",
        "concentration",
        "value",
    ),
    "unit": ("unit", "units"),
    "note": ("note", "notes", "footnote", "footnotes", "remark", "remarks"),
    "citation": ("citation", "reference", "rule"),
}
"""Words of a heading for a field; plain words of the trade (common practice, no source)."""

MEDIA: Mapping[str, str] = {"soil": "soil", "groundwater": "groundwater", "ground water": "groundwater", "sediment": "sediment",
                            "surface water": "surface_water"}  # fmt: skip
_BELOW_TITLES = 40
_UNIT = re.compile(r"[(\[,]\s*([^()\[\],]+?)\s*[)\]]?$")
_FIGURE_WITH_UNIT = re.compile(r"(<?\s*[\d.,]+(?:[Ee][+-]?\d+)?)\s+([A-Za-zµμ]+\s*/\s*[A-Za-z]+)")
_FIELDS = (*COLUMNS, *OPTIONAL)


@dataclass(frozen=True)
class OddCell:
    """A cell that a person must look at: its row as the user sees it, its column, text, why, and what it may mean."""

    row: int
    column: str
    text: str
    reason: str
    proposal: str = ""

    def told(self) -> str:
        """One phrase of a message."""
        proposal = f" (perhaps {self.proposal})" if self.proposal else ""
        return f"row {self.row}, column {self.column}: {self.reason}{proposal}"


@dataclass
class LevelSheet:
    """The cells by field and the row each came from, the odd ones among them, and what was taken for what."""

    sheet: str
    rows: list[dict[str, str]] = field(default_factory=list)
    places: list[int] = field(default_factory=list)
    odd: list[OddCell] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_level_sheet(
    book: Book, words: Mapping[str, Kind], names: Collection[str], answers: Mapping[tuple[int, str], str]
) -> LevelSheet:
    """The first sheet that has a header of levels. ``answers`` are a person's texts by (row, column).

    ``words`` are the texts in the place of a figure and ``names`` the printed names that the table explains.

    Raises `Refused` where no sheet has one. Cells that cannot be used are told in ``odd``, nothing is dropped.
    """
    for sheet in book.sheets:
        header = _header(sheet)
        if header is not None:
            return _read(sheet, *header, words, names, answers)
    named = [[_plain(cell) for cell in row] for sheet in book.sheets for row in sheet.rows[:_BELOW_TITLES] if any(row)]
    best = max(named, key=lambda row: sum(_field(cell) in COLUMNS for cell in row), default=[])
    missing = next((name for name in COLUMNS if name not in map(_field, best)), COLUMNS[0])
    raise Refused(f"{book.file}: column '{missing}' is missing; a level csv has {', '.join(COLUMNS)} and more")


def _header(sheet: Sheet) -> tuple[int, list[str], list[tuple[str, str]]] | None:
    """The header's index, the field of each column, and (medium, unit) of columns whose heading names both."""
    for at, row in enumerate(sheet.rows[:_BELOW_TITLES]):
        fields = [_field(_plain(cell)) or _plain(cell).replace(" ", "_") for cell in row]
        across = [_across(cell) for cell in row]
        if "analyte" in fields and ({"level", "unit", "medium"} <= set(fields) or any(all(one) for one in across)):
            return at, fields, across
        if "analyte" in fields and "level" not in fields and any(unit for _, unit in across) and "medium" in fields:
            return at, ["level" if across[number][1] else one for number, one in enumerate(fields)], across
    return None


def _plain(cell: str) -> str:
    return " ".join(cell.replace("_", " ").lower().split())


def _field(heading: str) -> str:
    if heading.replace(" ", "_") in _FIELDS:
        return heading.replace(" ", "_")
    return next((name for name, words in HEADINGS.items() if heading in words), "")


def _across(cell: str) -> tuple[str, str]:
    """The medium and the unit that a heading names, as in 'Groundwater (ug/L)'; empty where it does not."""
    heading = " ".join(cell.split())
    found = _UNIT.search(heading)
    unit = found[1] if found and not read_unit(found[1], None).problem else ""
    before = _plain(heading[: found.start()] if found else heading)
    medium = next((medium for word, medium in MEDIA.items() if before.startswith(word)), "")
    return medium, unit


def _read(
    sheet: Sheet, at: int, fields: list[str], across: list[tuple[str, str]], words: Mapping[str, Kind],
    names: Collection[str], answers: Mapping[tuple[int, str], str],
) -> LevelSheet:  # fmt: skip
    made = LevelSheet(sheet.name)
    if at:
        made.notes.append(f"header found in row {at + 1}, the rows above it are titles")
    columns = [number for number, one in enumerate(across) if all(one)] if "level" not in fields else []
    made.notes += [
        f"column '{sheet.rows[at][number]}' holds levels in {across[number][0]}, {across[number][1]}" for number in columns
    ]
    for number, row in enumerate(sheet.rows[at + 1 :], start=at + 2):
        if not any(cell.strip() for cell in row):
            continue
        cells = {name: (row[place] if place < len(row) else "").strip() for place, name in enumerate(fields) if name}
        targets: list[int | None] = [*columns] or [None]
        for column in targets:
            cell = dict(cells)
            if column is not None:
                text = (row[column] if column < len(row) else "").strip()
                if not text:
                    continue
                for other in columns:
                    cell.pop(fields[other], None)
                cell |= {"medium": across[column][0], "unit": across[column][1], "level": text}
            elif "unit" not in cell:
                cell["unit"] = across[fields.index("level")][1]
            _settle(made, number, cell, words, names, answers)
    return made


def _settle(
    made: LevelSheet, number: int, cell: dict[str, str], words: Mapping[str, Kind], names: Collection[str],
    answers: Mapping[tuple[int, str], str],
) -> None:  # fmt: skip
    for column in dict.fromkeys((*COLUMNS, *cell)):
        cell[column] = answers.get((number, column), cell.get(column, ""))
    cas = cell.get("cas", "")
    if cas and not cas_numbers.valid(cas) and cas_numbers.valid(cas_numbers.hyphenate(cas)):
        cell["cas"] = cas_numbers.hyphenate(cas)
        made.notes.append(f"row {number}: CAS {cas} taken as {cell['cas']}, its hyphens restored")
    level = cell.get("level", "")
    split = _FIGURE_WITH_UNIT.fullmatch(level)
    if split and not read_unit(split[2], cell.get("medium")).problem:
        cell["level"], cell["unit"] = split[1], split[2]
        made.notes.append(f"row {number}: the level's cell names its own unit, {split[2]}")
    if read_figure(cell.get("level", ""), words) is None:
        reason = f"{level!r} is no number, range or known word; explain it in [words]"
        made.odd.append(OddCell(number, "level", level, reason, _bare_figure(level)))
    unit = read_unit(cell.get("unit", ""), cell.get("medium") or None)
    if unit.problem:
        made.odd.append(OddCell(number, "unit", cell.get("unit", ""), unit.problem, unit.proposal or ""))
    found = Vocabulary.load().identify(cell.get("analyte", ""), cell.get("cas", ""))
    if found.analyte is None and cell.get("analyte") not in names:
        column = found.field or "analyte"
        text = cell.get(column, "")
        made.odd.append(OddCell(number, column, text, found.problem or f"{text!r} is not listed", found.proposal or ""))
    made.rows.append(cell)
    made.places.append(number)


def _bare_figure(text: str) -> str:
    """A figure with a note's mark behind it, without the mark."""
    found = re.fullmatch(r"([\d.,]+)\s*[*†‡a-z()\[\]^]{1,4}", text.strip(), re.IGNORECASE)
    return found[1] if found else ""
