"""Review editions: versioned, cited criteria read from a folder of csv files, with strict keys and clear errors."""

from __future__ import annotations

import csv
import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import cached_property, lru_cache
from pathlib import Path

from screening.errors import Refused
from screening.files import parse_toml
from screening.quality.findings import ACTIONS, TRANSCRIPTIONS, Basis
from screening.quality.stages import parse_stages
from screening.vocabulary.analysis_groups import groups
from screening.vocabulary.analytes import Vocabulary

DEFAULT = "published-criteria"
NO_REVIEW = "none"
FACTS = "edition.toml"
CRITERIA = "criteria"
"""The folder beside the facts that holds the csv files."""
_KEYS = {"title", "version", "citation", "status", "notes", "semivolatile_acids"}
_SOURCE = ("citation", "transcription", "source")
FILES = {
    "holding_times.csv": ("group", "analytes", "media", "fraction", "stages", "note"),
    "temperature.csv": ("group", "media", "above", "detected", "not_detected"),
    "blanks.csv": ("analytes", "rule", "times", "detected", "not_detected"),
    "recoveries.csv": ("kind", "substances", "when", "percent", "detected", "not_detected", "reach"),
    "duplicates.csv": ("kind", "media", "rpd_above", "low_times", "detected", "not_detected"),
    "solids.csv": ("below", "detected", "not_detected"),
    "surrogates.csv": ("surrogate", "groups", "part"),
    "rules.csv": ("rule", "number", "detected", "not_detected", "note"),
}
"""The columns of each file, before citation, transcription and source."""
MAY_LACK = {"blanks.csv": ("not_detected",)}
"""Columns that editions of an earlier form lack; they count as empty."""
WORDS = {
    "media": ("any", "water", "solid"),
    "rule": {"blanks.csv": ("at_or_below_limit", "within_times", "below_minus_limit")},
    "kind": {
        "recoveries.csv": ("surrogate", "lab_control", "matrix_spike"),
        "duplicates.csv": ("field_duplicate", "lab_duplicate", "matrix_spike_duplicate", "lab_control_duplicate"),
    },
    "substances": ("any", "organic", "inorganic"),
    "when": ("below_floor", "below_lower", "above_upper"),
    "reach": ("run", "batch", "parent"),
    "part": ("", "acid", "base_neutral"),
    "detected": ("", *ACTIONS),
    "not_detected": ("", *ACTIONS),
    "transcription": TRANSCRIPTIONS,
}
NUMBERS = ("above", "times", "percent", "rpd_above", "low_times", "below", "number")
RULES = (
    "late", "grossly_late", "unpreserved_days", "unpreserved_gross_days", "high_times_limit", "spike_skip_times", "diluted_out", "surrogates_out", "between_limits", "over_range",
    "below_dissolved_percent", "below_dissolved_times", "parts_above_total", "control_in_batch", "trip_blank_each_day",
    "near_level_times",
)  # fmt: skip
"""The rules that `rules.csv` must hold."""
LATER_RULES = ("blank_at_dilution", "limit_unadjusted")
"""Rules that `rules.csv` may hold; without one the edition does not ask for it."""
NUMBERLESS = (
    *LATER_RULES,
    "late",
    "between_limits",
    "over_range",
    "parts_above_total",
    "control_in_batch",
    "trip_blank_each_day",
)


@dataclass(frozen=True)
class Rule:
    """One row of a criteria file: its cells as text, and where it comes from."""

    cells: Mapping[str, str]
    basis: Basis

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def number(self, column: str) -> Decimal | None:
        """The number of a column; None where the cell is empty."""
        return Decimal(self.cells[column]) if self.cells[column] else None

    def needed(self, column: str = "number") -> Decimal:
        """The number of a column that is never empty."""
        return Decimal(self.cells[column])

    def names(self, column: str) -> tuple[str, ...]:
        """The names that a cell lists; () where it is empty."""
        return tuple(part.strip() for part in self.cells[column].split(" | ") if part.strip())

    def action(self, *, detected: bool) -> str:
        """What is done to a detection, or to a non-detect."""
        return self.cells["detected" if detected else "not_detected"] or "none"


@dataclass(frozen=True)
class Edition:
    """The criteria of one version. ``texts`` are its files as read; the hash of them enters the run."""

    name: str
    title: str
    version: date
    citation: str
    status: str
    notes: tuple[str, ...]
    acids: frozenset[str]
    files: Mapping[str, Sequence[Rule]]
    texts: Mapping[str, str]

    @cached_property
    def sha256(self) -> str:
        """A hash of every file of the edition."""
        return hashlib.sha256(repr(sorted(self.texts.items())).encode()).hexdigest()

    def rules(self, file: str) -> Sequence[Rule]:
        """The rows of one file."""
        return self.files[f"{file}.csv"]

    def rule(self, name: str) -> Rule:
        """The row of `rules.csv` of this name."""
        return next(row for row in self.files["rules.csv"] if row["rule"] == name)

    def may_have(self, name: str) -> Rule | None:
        """The row of `rules.csv` of this name; None where the edition has none."""
        return next((row for row in self.files["rules.csv"] if row["rule"] == name), None)


def edition_names(folder: Path) -> list[str]:
    """The names of the editions in the folder of standards."""
    return sorted(path.parent.name for path in (folder / "review").glob(f"*/{FACTS}"))


def read_edition(name: str, folder: Path) -> Edition:
    """The edition of this name in the folder of standards, or in the folder that the name is.

    Raises `Refused` for an unknown edition, and for one that cannot be used, naming file, line and column.
    """
    own = Path(name)
    place = own if (own / FACTS).is_file() else folder / "review" / name
    if not (place / FACTS).is_file():
        names = edition_names(folder)
        near = get_close_matches(name, names, n=1, cutoff=0.4)
        hint = f"did you mean {near[0]}?" if near else f"known are {', '.join((*names, NO_REVIEW))}"
        raise Refused(f"review edition '{name}' is unknown; {hint} A folder with an {FACTS} may be named as well")
    texts = {}
    for file in (FACTS, *FILES):
        path = place / file if file == FACTS else place / CRITERIA / file
        if not path.is_file():
            raise Refused(f"{path}: is missing; an edition needs {FACTS} and in {CRITERIA}/ {', '.join(FILES)}")
        texts[file] = path.read_text(encoding="utf-8")
    return parse_edition(place.name, texts)


def edition_asked(name: str, folder: Path) -> Edition | None:
    """The edition named, the default where none is, or None where the review is left out. Raises `Refused`."""
    return None if name == NO_REVIEW else read_edition(name or DEFAULT, folder)


def parse_edition(name: str, texts: Mapping[str, str]) -> Edition:
    """An edition from the texts of its files. Raises `Refused` naming file, line and column."""
    return _parsed(name, tuple(texts.items()))


@lru_cache(maxsize=8)  # most sites of a store are reviewed by the same
def _parsed(name: str, items: tuple[tuple[str, str], ...]) -> Edition:
    texts = dict(items)
    where = f"review edition '{name}', {FACTS}"
    try:
        facts = parse_toml(texts[FACTS])
    except tomllib.TOMLDecodeError as error:
        raise Refused(f"{where}: {error}; mend the line") from error
    for key in facts.keys() ^ _KEYS:
        raise Refused(f"{where}: key '{key}' is {'unknown' if key in facts else 'missing'}; it needs {', '.join(sorted(_KEYS))}")
    if type(facts["version"]) is not date:
        raise Refused(f"{where}: version must be a date, as 2025-01-31")
    acids = facts["semivolatile_acids"].get("analytes", [])
    known = {analyte.name for analyte in Vocabulary.load()}
    for analyte in acids:
        _listed(analyte, known, where, "semivolatile_acids")
    files = {file: _rows(name, file, texts[file], known) for file in FILES}
    _all_rules(name, files["rules.csv"])
    return Edition(
        name, str(facts["title"]), facts["version"], str(facts["citation"]), str(facts["status"]), tuple(facts["notes"]),
        frozenset(acids), files, texts,
    )  # fmt: skip


def _rows(name: str, file: str, text: str, known: set[str]) -> list[Rule]:
    columns = (*FILES[file], *_SOURCE)
    reader = csv.DictReader(text.splitlines())
    lacking = set(MAY_LACK.get(file, ())) - set(reader.fieldnames or ())
    for column in (set(reader.fieldnames or ()) ^ set(columns)) - lacking:
        state = "unknown" if column in (reader.fieldnames or ()) else "missing"
        raise Refused(f"review edition '{name}', {file}: column '{column}' is {state}; the columns are {', '.join(columns)}")
    made = []
    for row in reader:
        where = f"review edition '{name}', {file}, line {reader.line_num}"
        if None in row or None in row.values():
            raise Refused(f"{where}: has not {len(columns) - len(lacking)} cells; quote a cell that holds a comma")
        cells = dict.fromkeys(lacking, "") | {column: cell.strip() for column, cell in row.items()}
        _words(file, cells, where)
        _numbers(cells, where)
        for group in (part for column in ("group", "groups") for part in cells.get(column, "").split(" | ") if part):
            _listed(group, set(groups()), where, "group")
        for analyte in (part for column in ("analytes", "surrogate") for part in cells.get(column, "").split(" | ") if part):
            _listed(analyte, known, where, "analyte")
        if file == "holding_times.csv":
            try:
                parse_stages(cells["stages"])
            except ValueError as error:
                raise Refused(
                    f"{where}: '{error}' is no stage; write 'collection > preparation 7 d; preparation > analysis 40 d'"
                ) from error
        if not cells["citation"]:
            raise Refused(f"{where}: column 'citation' is empty; name where the criterion stands")
        made.append(Rule(cells, Basis(cells["citation"], cells["transcription"])))
    return made


def _words(file: str, cells: Mapping[str, str], where: str) -> None:
    for column, words in WORDS.items():
        allowed = words.get(file, ()) if isinstance(words, dict) else words
        if column in cells and allowed and cells[column] not in allowed:
            raise Refused(f"{where}: column '{column}' is '{cells[column]}'; write one of {', '.join(filter(None, allowed))}")


def _numbers(cells: Mapping[str, str], where: str) -> None:
    for column in NUMBERS:
        if not cells.get(column):
            continue
        try:
            number = Decimal(cells[column])
        except InvalidOperation:
            number = Decimal(-1)
        if not number.is_finite() or number < 0:
            raise Refused(f"{where}: column '{column}' is '{cells[column]}'; write a number of 0 or more")


def _listed(word: str, known: set[str], where: str, what: str) -> None:
    if word not in known:
        near = get_close_matches(word, known, n=3, cutoff=0.4)
        raise Refused(f"{where}: {what} '{word}' is not listed; nearest are {', '.join(near) or 'none'}")


def _all_rules(name: str, rows: Sequence[Rule]) -> None:
    found = [row["rule"] for row in rows]
    for rule in (*RULES, *LATER_RULES):
        if found.count(rule) > 1 or (rule in RULES and rule not in found):
            raise Refused(f"review edition '{name}', rules.csv: rule '{rule}' is there {found.count(rule)} times; give it once")
        if rule in found and rule not in NUMBERLESS and not rows[found.index(rule)]["number"]:
            raise Refused(f"review edition '{name}', rules.csv: rule '{rule}' has no number; write it")
    for rule in found:
        if rule not in (*RULES, *LATER_RULES):
            raise Refused(
                f"review edition '{name}', rules.csv: rule '{rule}' is unknown; known are {', '.join((*RULES, *LATER_RULES))}"
            )
