"""What both kinds of crosstab share: headings as a crosstab means them, and the cells taken from it."""

from __future__ import annotations

from dataclasses import dataclass, field

from screening.deliverable.grid import LIMIT_FIELDS, is_unit
from screening.vocabulary.headings import Heading
from screening.vocabulary.headings import recognise as recognised

LIMIT_UNITS = tuple(f"{field}_unit" for field in LIMIT_FIELDS)
SHARED = ("unit", "cas", "method", "limit_unit", *LIMIT_UNITS, "comment", "basis", "fraction")
ATTRIBUTES = [
    "sample_id",
    "lab_sample_id",
    "location",
    "sample_kind",
    "parent_sample",
    "medium",
    "depth_top",
    "depth_bottom",
    "depth_unit",
    "sampled_at",
    "received_at",
    "prepared_at",
    "analysed_at",
    "lab",
    "batch",
    "dilution",
    "percent_solids",
    "fraction",
    "basis",
    "unit",
]


def recognise(text: str) -> Heading:
    """A heading's field; a bare 'Date' is the day of sampling in a crosstab, which has one date a sample."""
    return Heading("sampled_at") if text.strip(" :").lower() in ("date", "fecha") else recognised(text)


@dataclass
class Unfolded:
    """The result cells of one block: texts by field with row and column (from 1 and 0), rows passed over, evidence."""

    shape: str
    cells: list[dict[str, str]] = field(default_factory=list)
    places: list[tuple[int, int]] = field(default_factory=list)
    ignored: list[tuple[int, str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    question: str | None = None

    def add(self, row: int, column: int, texts: dict[str, str]) -> None:
        """One result cell."""
        self.places.append((row, column))
        self.cells.append(texts)


def unit_behind(text: str, name: str) -> str:
    """The unit that a limit's heading states ('RL (mg/L)', 'MW-1 RL (mg/L)', or a unit alone below it), '' where none."""
    if is_unit(text):
        return text
    unit = _beside(text, name).unit or recognise(text).unit or ""
    return unit if is_unit(unit) else ""


def belongs_to(text: str, name: str) -> str | None:
    """The role of 'MW-1 Qual' or 'Qual (MW-1)' beside a column 'MW-1'; None where the text is no such heading."""
    found = _beside(text, name).field
    return found if found in ("qualifiers", "result", *LIMIT_FIELDS) else None


def _beside(text: str, name: str) -> Heading:
    """What is left of a heading without the name of its sample or analyte."""
    at = text.lower().find(name.lower()) if name and text != name else -1
    if at < 0:
        return Heading(None)
    rest = text[:at] + " " + text[at + len(name) :]
    whole = recognise(rest.strip(" -_:,/"))
    return whole if whole.field else recognise(rest.strip(" -_:()[],/"))
