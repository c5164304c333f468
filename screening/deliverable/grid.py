"""What single cells of a sheet look like: an analyte, a result, a flag, a unit, a level's heading, a statistic."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from screening.deliverable.marks import NO_VALUE
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.headings import recognise
from screening.vocabulary.qualifiers import read_qualifiers
from screening.vocabulary.units import read_unit

LEVEL_WORDS = re.compile(
    r"\b(?:levels?|limits?|standards?|criteri(?:a|on)|guidelines?|objectives?|goals?|targets?|thresholds?|screening|clean-?up|action|"
    r"residential|industrial|commercial|allowable|maximum contaminant|trigger|remediation|límites?|nivel(?:es)?|norma|valor(?:es)? de|"
    r"generic|numeric|exceedance value|guideline value|investigation|trigger value|valor de referencia|permisible)\b",
    re.IGNORECASE,
)
"""Words of columns and rows that hold levels, not samples (common practice, no source)."""
LIMIT_FIELDS = ("reporting_limit", "quantitation_limit", "detection_limit")
STATISTIC = re.compile(
    r"^(?:max(?:imum)?|min(?:imum)?|mean|average|median|range|count|sum|std\.? ?dev.*|standard deviation|number of .*|número de .*|no\.? of .*|n|"
    r"detects?|detections?|frequency.*|percent det.*|exceed.*|total (?:number|detect).*|máximo|mínimo|promedio)\b.*$",
    re.IGNORECASE,
)
_RESULT = re.compile(
    r"^(?:[<>~≈]|nd|u)?\s*[(@<=]*\s*[-+]?(?:\d[\d,. ]*|\.\d+)(?:\s*[x×*·]\s*10\s*\^?\s*[-+]?\d+|[eE][-+]?\d+)?\)?\s*[A-Za-z*+,\s-]{0,8}$"
    r"|^(?:nd|n\.d\.?|not detected|none detected|bdl|bql|brl|na|n/a|n\.a\.(?:/n\.r\.)?|ns|nr|-{1,3}|–|—|trace|tr|not analy[sz]ed|not sampled)$",
    re.IGNORECASE,
)
_DATE = re.compile(
    r"^\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}(?:[ T].*)?$|^\d{1,2}[ -][A-Za-z]{3,9}\.?[ ,-]+\d{2,4}$|^[A-Za-z]{3,9}\.? \d{1,2},? \d{4}$"
)


@lru_cache(maxsize=1)
def _vocabulary() -> Vocabulary:
    return Vocabulary.load()


@lru_cache(maxsize=1 << 15)
def is_analyte(text: str) -> bool:
    """A listed analyte by name; a unit in brackets behind it is allowed."""
    name, _ = name_and_unit(text)
    if len(name) < 3 or is_result(name) or len(name) > 90:  # an element's symbol may as well be a flag
        return False
    return _vocabulary().named(name) is not None


@lru_cache(maxsize=1 << 15)
def name_and_unit(text: str) -> tuple[str, str]:
    """Split 'Benzene (ug/L)', 'Benzene, ug/L' or 'Benzene ug/L' into the name and the unit; no unit gives ''."""
    text = " ".join(text.split())
    for pattern in (
        r"(.+?) ?[\[(]([^()\[\]]+(?:[(\[][^()\[\]]+[)\]])?)[\])]",
        r"(.+), ?([^,]+)",
        r"(.+?) - (.+)",
        r"(.+) (\S+/\S+)",
    ):
        match = re.fullmatch(pattern, text)
        if match and is_unit(match[2].strip()):
            return match[1].strip(), match[2].strip()
    return text, ""


@lru_cache(maxsize=1 << 15)
def is_unit(text: str) -> bool:
    """A concentration unit or per cent of the closed table."""
    found = read_unit(text, "soil") if text else None
    return found is not None and found.problem is None and (found.kind != "other" or "/" in text)


@lru_cache(maxsize=1 << 15)
def is_result(text: str) -> bool:
    """Looks like a reported result (number, non-detect, not analysed, a formula never worked out); dates do not."""
    return bool(text) and (text == NO_VALUE or (bool(_RESULT.match(text)) and not is_date(text)))


@lru_cache(maxsize=1 << 15)
def is_date(text: str) -> bool:
    """Looks like a calendar date."""
    return bool(_DATE.match(text))


@lru_cache(maxsize=1 << 15)
def is_flag(text: str) -> bool:
    """Looks like a qualifier: few letters, no digits."""
    if not text or len(text) > 8 or any(letter.isdigit() for letter in text):
        return False
    return not read_qualifiers(text).unknown


@lru_cache(maxsize=1 << 15)
def is_level_heading(text: str) -> bool:
    """The heading of a column or row of levels; headings of the laboratory's own limits are none."""
    return bool(LEVEL_WORDS.search(text)) and recognise(text).field not in (*LIMIT_FIELDS, "recovery_low", "recovery_high")


def cell(row: list[str], index: int) -> str:
    """The text at an index, '' beyond the end of the row."""
    return row[index] if 0 <= index < len(row) else ""


def widest(rows: Sequence[list[str]]) -> int:
    return max((len(row) for row in rows), default=0)


def analyte_column(rows: Sequence[list[str]]) -> int:
    return max(range(min(4, widest(rows))), key=lambda at: (sum(is_analyte(cell(row, at)) for row in rows), -at))


def header_like(rows: Sequence[list[str]]) -> bool:
    return any(sum(bool(text) for text in row) >= 2 for row in rows)


def values(row: list[str], at: int) -> bool:
    return any(is_result(text) for index, text in enumerate(row) if index > at)
