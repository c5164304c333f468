"""The result tables that every kind of output shows: analytes down, samples across, one table a medium, and their marks.

A mark is one comparison: the marks of all tables together are the counts of the run, and each is a row of a list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.decision.words import depth_text, is_span, letters_of, number_text
from screening.outputs.texts import natural

if TYPE_CHECKING:
    from screening.decision.contents import Contents

Document = Mapping[str, Any]

MARKS = {"exceeds": "E", "open": "?", "no_level": "n", "does_not_exceed": ""}
"""The letter of each outcome; letters carry the meaning wherever colour is lost."""
HELD, MISSING, NOT_ANALYSED = "h", "m", "–"
KEY = (
    (MARKS["exceeds"], "exceeds the level"),
    (MARKS["open"], "open: cannot be shown to lie on either side of the level; not clean"),
    (MARKS["no_level"], "no level listed; not a pass"),
    ("(E)", "in brackets: the side of a field duplicate pair that does not stand; not counted"),
    (HELD, "held back until a person decides; in no table and no count"),
    (NOT_ANALYSED, "not analysed or not delivered"),
    ("<", "not detected; the number is the limit"),
    ("", "no letter: compared and does not exceed, or a part of a sum"),
)
"""What stands on every sheet that shows marks."""

MEDIA = ("soil", "sediment", "groundwater", "surface_water", "other_water", "other")
"""The order of the tables."""

MEAN = "mean"
"""The kind of the column that shows the mean of a parent and its field duplicate, where the rule lets the mean decide."""


@dataclass(frozen=True)
class Sample:
    """A column: what was taken at one place and depth on one occasion. ``kind`` is a sample kind, or `MEAN`."""

    location: str
    sample_id: str
    kind: str
    medium: str
    depth_top: Decimal | None
    depth: str
    sampled_at: str
    lab_sample_ids: tuple[str, ...]
    methods: tuple[str, ...]
    units: tuple[str, ...]
    elective: bool

    @property
    def title(self) -> str:
        """What the column is, for people: 'field', 'field duplicate', 'mean of the pair'."""
        words = "mean of the pair" if self.kind == MEAN else self.kind.replace("_", " ")
        return f"{words}, elective" if self.elective else words


@dataclass(frozen=True)
class LevelTable:
    """One version of a table in use for a medium; ``number`` counts from 1 and stands behind marks where there are several."""

    number: int
    table: str
    version: str
    until: str | None
    title: str
    stage: str
    citation: str
    transcription: str
    comparisons: tuple[str, ...]


@dataclass(frozen=True)
class Level:
    """A level as it was used: ``text`` in the unit of the row, ``printed`` as the rule prints it."""

    text: str
    printed: str
    comparison: str
    conditions: tuple[tuple[str, str], ...]
    citation: str
    transcription: str


@dataclass(frozen=True)
class Mark:
    """One comparison of a cell; ``counted`` is false for the side of a duplicate pair that does not stand."""

    letter: str
    table: int
    counted: bool
    outcome: Document


@dataclass(frozen=True)
class Cell:
    """A sample's result for an analyte. ``number`` is its amount where one number says it; a limit has none.

    ``result`` is None where the amount was worked out (a sum, a mean); ``marks`` are in the order of the level tables.
    """

    text: str
    number: Decimal | None
    detected: bool
    qualifiers: str
    review: str
    marks: tuple[Mark, ...]
    levels: tuple[Level | None, ...]
    result: Document | None
    held: bool = False

    @property
    def worst(self) -> str:
        """The worst outcome that is counted: a key of `MARKS`, or '' for none."""
        found = {mark.outcome["outcome"] for mark in self.marks if mark.counted}
        return next((name for name in MARKS if name in found), "")


@dataclass(frozen=True)
class Row:
    """An analyte. ``levels`` holds for each table in use the levels its samples were held against, several where they differ;
    ``compared`` is false for what no outcome is of by itself, such as a part of a sum."""

    analyte: str
    cas: str
    fraction: str
    unit: str
    methods: tuple[str, ...]
    levels: tuple[tuple[Level, ...], ...]
    compared: bool

    def level_words(self, table: int) -> str:
        """What stands in place of the level in a table (counted from 0) that holds none or several; '' where one number does."""
        if len(self.levels[table]) == 1:
            return ""
        return "by sample" if self.levels[table] else "none listed" if self.compared else "not compared"

    @property
    def name(self) -> str:
        """The analyte with its fraction."""
        return f"{self.analyte}, {self.fraction.replace('_', ' ')}" if self.fraction else self.analyte


@dataclass(frozen=True)
class Crosstab:
    """One medium. ``cells`` is by (row, column) numbers from 0; a pair that is not there was not analysed.

    ``of_rows`` says of a table that shows only some of its rows how many there are, and is 0 for a whole one.
    """

    medium: str
    samples: tuple[Sample, ...]
    tables: tuple[LevelTable, ...]
    rows: tuple[Row, ...]
    cells: Mapping[tuple[int, int], Cell]
    of_rows: int = 0

    def marked(self, cell: Cell) -> str:
        """The marks of a cell as text: 'E', '?', '(E)', or with table numbers 'E1 ?2' where several tables are in use."""
        texts = []
        for mark in cell.marks:
            if mark.letter:
                text = f"{mark.letter}{mark.table}" if len(self.tables) > 1 else mark.letter
                texts.append(text if mark.counted else f"({text})")
        return " ".join([*texts, *([HELD] if cell.held else [])])


@dataclass
class _Gathered:
    """What stands behind a cell while it is gathered."""

    result: Document | None = None
    standing: list[Document] = field(default_factory=list)
    outweighed: list[Document] = field(default_factory=list)


_Place = tuple[str, ...]
_Name = tuple[str, str, str]
_Column = dict[_Name, _Gathered]


def crosstabs(contents: Contents) -> list[Crosstab]:
    """The result tables of a run: chosen results and what was worked out from them, samples by location and depth."""
    columns, locations = _gather(contents)
    media = {place[0] for place in columns}
    return [
        _crosstab(contents, medium, {place: column for place, column in columns.items() if place[0] == medium}, locations)
        for medium in (*(name for name in MEDIA if name in media), *sorted(media - set(MEDIA)))
    ]


def _taken(item: Document) -> _Place:
    return (item["medium"], item["sample_id"], item["location"], item["depth_top"] or "", item["depth_bottom"] or "")


def _several_days(contents: Contents) -> set[_Place]:
    """What was taken on several days under one number, as from a well that lends its name."""
    days = defaultdict(set)
    for item in (*contents.answer["outcomes"], *contents.answer["outweighed"], *contents.results):
        if item["sampled_at"]:
            days[_taken(item)].add(item["sampled_at"][:10])
    return {place for place, found in days.items() if len(found) > 1}


def _place(item: Document, several: Collection[_Place], kind: str | None = None) -> _Place:
    day = (item["sampled_at"] or "")[:10] if _taken(item) in several else ""
    return (
        item["medium"],
        item["sample_id"],
        kind or item["sample_kind"],
        item["depth_top"] or "",
        item["depth_bottom"] or "",
        day,
    )


def _name(item: Document) -> _Name:
    return (item["analyte"], item["fraction"], item["unit"])


def _against(item: Document, several: Collection[_Place]) -> tuple[Any, ...]:
    return (_place(item, several), _name(item), item["table"], item["version"])


def _gather(contents: Contents) -> tuple[dict[_Place, _Column], dict[_Place, str]]:
    """Results and outcomes by sample and analyte, and the location of each sample: a duplicate's is its parent's."""
    answer, several = contents.answer, _several_days(contents)
    columns: dict[_Place, _Column] = {}
    locations: dict[_Place, str] = {}

    def at(item: Document, kind: str | None = None) -> _Gathered:
        place = _place(item, several, kind)
        locations.setdefault(place, item["location"])
        return columns.setdefault(place, {}).setdefault(_name(item), _Gathered())

    lost = {_against(item, several) for item in answer["outweighed"]}
    for item in answer["outcomes"]:
        # a mean stands under the number of its parent, which is outweighed then
        at(item, MEAN if item["sample_kind"] == "field" and _against(item, several) in lost else None).standing.append(item)
    for item in answer["outweighed"]:
        at(item).outweighed.append(item)
    for row in contents.results:
        if row["chosen"]:
            at(row).result = row
    return columns, locations


def _crosstab(
    contents: Contents, medium: str, columns: Mapping[_Place, _Column], locations: Mapping[_Place, str]
) -> Crosstab:  # fmt: skip
    tables = _tables_of(contents.answer["levels"], [one for column in columns.values() for one in column.values()])
    elective = {location.id for location in contents.site.location if location.elective}
    samples = [(_sample(place, column, locations[place], elective), column) for place, column in columns.items()]
    samples.sort(key=lambda pair: sample_order(pair[0]))
    known = {sample.sample_id for sample, _ in samples}
    held = {(row["sample_id"], row["analyte"]) for row in contents.answer["held_back"] if row["sample_id"] in known}
    found = {name for column in columns.values() for name in column}
    found |= {(analyte, "", "") for _, analyte in held if all(name[0] != analyte for name in found)}
    names = sorted(found, key=lambda name: tuple(map(natural, name)))
    cells: dict[tuple[int, int], Cell] = {}
    rows = []
    for row, name in enumerate(names):
        for number, (sample, column) in enumerate(samples):
            if name in column:
                cells[row, number] = _cell(column[name], tables)
            elif (sample.sample_id, name[0]) in held:
                cells[row, number] = Cell("", None, False, "", "", (), (None,) * len(tables), None, held=True)
        behind = [column[name] for _, column in samples if name in column]
        shown = [cells[row, number] for number in range(len(samples)) if (row, number) in cells]
        rows.append(_row(name, behind, shown, len(tables)))
    return Crosstab(medium, tuple(sample for sample, _ in samples), tables, tuple(rows), cells)


def sample_order(sample: Sample) -> tuple[Any, ...]:
    """By location, then depth, then day; the duplicate stands behind its parent and the mean behind both."""
    kinds = ("field", "field_duplicate", MEAN)
    kind = kinds.index(sample.kind) if sample.kind in kinds else len(kinds)
    depth = sample.depth_top if sample.depth_top is not None else Decimal(-1)
    return (natural(sample.location), depth, sample.sampled_at[:10], kind, natural(sample.sample_id), sample.depth)


def _sample(place: _Place, column: _Column, location: str, elective: set[str]) -> Sample:
    items = [item for one in column.values() for item in _documents(one)]
    results = [one.result for one in column.values() if one.result is not None]
    first = items[0]
    return Sample(
        location, place[1], place[2], place[0], Decimal(place[3]) if place[3] else None, depth_text(first),
        next((item["sampled_at"] for item in items if item["sampled_at"]), ""),
        _each(row["lab_sample_id"] for row in results), _each(row["method"] for row in results),
        _each(_unit_words(one) for one in column.values()), location in elective,
    )  # fmt: skip


def _documents(one: _Gathered) -> list[Document]:
    return [*one.standing, *one.outweighed, *([one.result] if one.result is not None else [])]


def _each(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted({text for text in texts if text}, key=natural))


def _unit_words(one: _Gathered) -> str:
    """The unit with its basis: 'mg/kg dry', or 'mg/kg dry (from as received)' where percent solids made it so."""
    shown = _documents(one)[0]
    result = one.result
    if result is None or not result["basis"]:
        return str(shown["unit"]) if result is not None else ""
    basis = str(result["basis"]).replace("_", " ")
    made_dry = basis != "dry" and shown is not result and number_text(shown) != number_text(_bare(result))
    return f"{shown['unit']} dry (from {basis})" if made_dry else f"{shown['unit']} {basis}"


def _bare(result: Document) -> Document:
    """A result as the words for amounts read it: no level lies beside it."""
    return {**result, "qualifiers": result["lab_qualifiers"], "level_normal": None}


def _tables_of(levels: Sequence[Document], gathered: Sequence[_Gathered]) -> tuple[LevelTable, ...]:
    """The tables that hold a level for a result of the medium, in the order of the run."""
    used: dict[tuple[str, str], set[str]] = {}
    for one in gathered:
        for item in (*one.standing, *one.outweighed):
            if item["level"] is not None:
                used.setdefault((item["table"], item["version"]), set()).add(item["comparison"] or "")
    found = [level for level in levels if (level["table"], level["version"]) in used]
    return tuple(
        LevelTable(
            number, level["table"], level["version"], level["until"], level["title"], level["stage"], level["citation"],
            level["transcription"], tuple(sorted(used[level["table"], level["version"]] - {""})),
        )
        for number, level in enumerate(found, start=1)
    )  # fmt: skip


def _cell(one: _Gathered, tables: Sequence[LevelTable]) -> Cell:
    numbers = {(table.table, table.version): table.number for table in tables}

    def number_of(item: Document) -> int:
        return numbers.get((item["table"], item["version"]), 0)

    marks = [Mark(MARKS[item["outcome"]], number_of(item), True, item) for item in one.standing]
    marks += [Mark(MARKS[item["outcome"]], number_of(item), False, item) for item in one.outweighed]
    marks.sort(key=lambda mark: (not mark.counted, mark.table))
    levels: list[Level | None] = [None] * len(tables)
    for mark in marks:
        if mark.table and levels[mark.table - 1] is None:
            levels[mark.table - 1] = _level(mark.outcome)
    shown = min((mark.outcome for mark in marks), key=lambda item: list(MARKS).index(item["outcome"]), default=None)
    if shown is None:
        assert one.result is not None
        shown = _bare(one.result)
    amount = shown["value"] if shown["detected"] and not is_span(shown) else None
    return Cell(
        number_text(shown), decimal_of(amount), shown["detected"], letters_of(shown),
        shown["review_qualifiers"].replace("_", " "), tuple(marks), tuple(levels), one.result,
    )  # fmt: skip


def decimal_of(text: str | None) -> Decimal | None:
    """The number that a text is, None for a text that is no single number, such as '>2000'."""
    if not text:
        return None
    try:
        return Decimal(text)
    except ArithmeticError:
        return None


def _level(item: Document) -> Level | None:
    if item["level"] is None:
        return None
    words = item["outcome"] == "no_level"  # such as 'NL'
    printed = " ".join(part for part in (item["level"], "" if words else item["level_unit"]) if part)
    return Level(
        item["level_normal"] or printed, printed, item["comparison"] or "", tuple(sorted(item["conditions"].items())),
        item["citation"], item["transcription"],
    )  # fmt: skip


def _row(name: _Name, found: Sequence[_Gathered], cells: Sequence[Cell], tables: int) -> Row:
    documents = [item for one in found for item in _documents(one)]
    levels = []
    for table in range(tables):
        used = [level for cell in cells if (level := cell.levels[table]) is not None]
        levels.append(tuple({(level.text, level.comparison): level for level in used}.values()))
    return Row(
        name[0], next((item["cas"] for item in documents if item["cas"]), ""), name[1], name[2],
        _each(one.result["method"] for one in found if one.result is not None), tuple(levels), any(cell.marks for cell in cells),
    )  # fmt: skip
