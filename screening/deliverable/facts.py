"""What the lines around a table say of all its rows: sample, medium, unit, basis, date."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from screening.deliverable.grid import is_unit, name_and_unit
from screening.vocabulary.headings import recognise
from screening.vocabulary.terms import listed_term
from screening.vocabulary.units import read_unit

STATED = [
    "sample_id",
    "lab_sample_id",
    "location",
    "sample_kind",
    "medium",
    "depth_top",
    "depth_bottom",
    "sampled_at",
    "received_at",
    "analysed_at",
    "prepared_at",
    "lab",
    "method",
    "batch",
    "unit",
    "basis",
    "dilution",
    "percent_solids",
]
_UNIT_TRIGGER = re.compile(
    r"(?:results?|concentrations?|values?|units?|resultados|concentraciones|unidades)\b[^.;:]{0,40}?"
    r"(?:\b(?:reported|expressed|expresad[oa]s)\s+(?:in|as|en)|\b(?:in|as|en)\b|:|=)\s*:?\s*(?P<rest>.+)$",
    re.IGNORECASE,
)
_MEDIA = ("ground water", "groundwater", "soil", "sediment", "surface water", "agua subterránea", "suelo")
_MEDIUM_OF = {
    "ground water": "groundwater", "groundwater": "groundwater", "agua subterránea": "groundwater", "soil": "soil", "suelo": "soil",
    "sediment": "sediment", "surface water": "surface_water",
}  # fmt: skip


def stated(
    above: Iterable[Sequence[str]], below: Iterable[Sequence[str]], sheet: str, own_units: set[str]
) -> tuple[dict[str, str], list[str]]:
    """Fields stated outside the table, and the notes that tell where.

    ``own_units`` are the unit texts used inside the table: a legend that contradicts one of them becomes the unit of
    every row, so that the contradiction is quoted and the rows are held.
    """
    facts: dict[str, str] = {}
    notes: list[str] = []
    titles = list(above)
    said = [*titles, *below]
    for line in said:
        for field, text in _pairs(line):
            if field == "sample_kind" and listed_term("medium", text):
                field = "medium"
            if field in STATED and field not in facts and text:
                facts[field] = text
                notes.append(f"{field} = '{text}', as stated beside the table")
    for line in said:
        for text in filter(None, line):
            _phrase(text, facts, notes)
            for clause in text.split(";"):
                _legend(clause.strip(), own_units, facts, notes)
    if "medium" not in facts:
        found = {
            _MEDIUM_OF[word]
            for text in [sheet, *(text for line in titles for text in line)]
            for word in _MEDIA
            if _mentions(text, word)
        }
        if len(found) == 1:
            facts["medium"] = found.pop()
            notes.append(f"medium = '{facts['medium']}', from the title or the name of the sheet")
    return facts, notes


def _legend(text: str, own_units: set[str], facts: dict[str, str], notes: list[str]) -> None:
    legend = re.match(r"(\S{2,8})\s*[:=–-]\s*\S", text)
    if legend and legend[1].lower() in {unit.lower() for unit in own_units}:
        problem = read_unit(text, "soil").problem or ""
        if "contradicts" in problem:
            facts["contradicted_unit"] = text
            notes.append(f"the legend contradicts the unit: {problem}")


def _mentions(text: str, word: str) -> bool:
    return len(text) < 120 and bool(re.search(rf"\b{word}s?\b", text, re.IGNORECASE))


def _pairs(line: Sequence[str]) -> Iterable[tuple[str, str]]:
    filled = [(at, text) for at, text in enumerate(line) if text]
    for position, (_, text) in enumerate(filled):
        label, mark, rest = text.partition(":")
        field = recognise(label.strip()).field if len(label) < 40 else None
        if field is None:
            continue
        if mark and rest.strip():
            yield field, rest.strip()
        elif position + 1 < len(filled) and (mark or len(filled) == 2) and not recognise(filled[position + 1][1]).field:
            yield field, filled[position + 1][1]


def unit_said(text: str) -> str:
    """The unit that a line states ("All results in ug/L", "Soil results (mg/kg)"), '' where it states none."""
    match = _UNIT_TRIGGER.search(text)
    if match:
        words = match["rest"].split()
        for count in range(min(7, len(words)), 0, -1):
            unit = " ".join(words[:count]).rstrip(".,;")
            if is_unit(unit):
                return unit
    return name_and_unit(text)[1] if len(text) < 100 else ""


def _phrase(text: str, facts: dict[str, str], notes: list[str]) -> None:
    unit = unit_said(text) if "unit" not in facts else ""
    if unit:
        facts["unit"] = unit
        notes.append(f"unit = '{unit}', from the line '{text[:80]}'")
    if "basis" not in facts and len(text) < 160:
        if re.search(r"\bdry[ -]?(?:weight|wt|basis)\b|\b(?:peso sec[oa]|base seca)\b", text, re.IGNORECASE):
            facts["basis"] = "dry"
            notes.append(f"basis = dry, from the line '{text[:80]}'")
        elif re.search(r"\b(?:as received|wet[ -]?weight)\b", text, re.IGNORECASE):
            facts["basis"] = "as received"
            notes.append(f"basis = as received, from the line '{text[:80]}'")
