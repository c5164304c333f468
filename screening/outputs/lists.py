"""Lists of outcomes that every kind of output shows: exceedances, open comparisons, no level listed, duplicates.

The rows of a list that carry a mark are the comparisons of the run with that outcome, each once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from screening.decision.words import amount_text, cut, depth_text, is_span, letters_of, number_text, place_text
from screening.outputs.tables import HELD, MARKS, MISSING, Document, decimal_of
from screening.outputs.texts import natural, source_text

if TYPE_CHECKING:
    from screening.decision.contents import Contents


@dataclass(frozen=True)
class Amount:
    """A number as it is shown; ``number`` is None where the text is no single number, such as '<0.5'."""

    text: str
    number: Decimal | None


Value = str | int | Amount | None
MARK, TEXT, NUMBER, LONG = "mark", "text", "number", "long"
"""What a column holds: a mark, short text, numbers, sentences."""


@dataclass(frozen=True)
class Column:
    """A column: its heading, what it holds, its width in characters, and whether a narrow paper copy shows it."""

    heading: str
    holds: str
    width: int
    narrow: bool = True


@dataclass(frozen=True)
class Listing:
    """A list with a title, what to know about it, and rows as long as its columns."""

    name: str
    title: str
    notes: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]


FEW = 3
"""Rows from which a column that says the same in each is said once beside the list."""


def cell_text(value: Value) -> str:
    """A cell of a list as it is printed."""
    return value.text if isinstance(value, Amount) else "" if value is None else str(value)


def said_once(one: Listing, narrow: bool = True) -> tuple[Listing, str]:
    """The list with the columns that differ, and what stands in all its rows alike ('' for nothing).

    ``narrow`` leaves out the columns that a narrow paper copy does not show.
    """
    kept, said = [], []
    for at, column in enumerate(one.columns):
        if narrow and not column.narrow:
            continue
        texts = {cell_text(row[at]) for row in one.rows}
        if len(one.rows) < FEW or len(texts) > 1 or column.holds == MARK:
            kept.append(at)
        elif texts != {""}:
            said.append(f"{column.heading}: {texts.pop()}")
    rows = tuple(tuple(row[at] for at in kept) for row in one.rows)
    told = f"In every row: {'; '.join(said)}." if said else ""
    return replace(one, columns=tuple(one.columns[at] for at in kept), rows=rows), told


def amount(text: str | None, level: str | None = None) -> Amount | None:
    """A number with the digits in which it is shown beside a level."""
    if text is None:
        return None
    number = decimal_of(text)
    return Amount(cut(text, level) if number is not None else text, number)


def result_of(item: Document) -> Amount:
    """The result of an outcome: a number where it is detected with one."""
    known = item["detected"] and not is_span(item)
    return Amount(number_text(item), decimal_of(item["value"]) if known else None)


def level_of(item: Document) -> Amount | None:
    """The level of an outcome in the unit of its result, or as it is printed where it is no number."""
    return amount(item["level_normal"]) or (Amount(item["level"], None) if item["level"] else None)


def words(text: str | None) -> str:
    """A stored word as people write it."""
    return (text or "").replace("_", " ")


def worst_first(items: Iterable[Document]) -> list[Document]:
    """By how far above the level, then by place and analyte."""
    return sorted(items, key=lambda item: (-Decimal(item["ratio"] or 0), natural(item["location"]), natural(item["analyte"])))


def by_place(items: Iterable[Document]) -> list[Document]:
    """By medium, location, depth, sample and analyte."""
    return sorted(
        items,
        key=lambda item: (
            item["medium"], natural(item["location"]), Decimal(item["depth_top"] or -1), natural(item["sample_id"]), natural(item["analyte"]),
        ),
    )  # fmt: skip


def of_outcome(answer: Mapping[str, Any], outcome: str) -> list[Document]:
    """The standing outcomes of one kind."""
    return [item for item in answer["outcomes"] if item["outcome"] == outcome]


_COLUMNS = (
    Column("Mark", MARK, 6), Column("Location", TEXT, 12), Column("Sample", TEXT, 13), Column("Depth", TEXT, 8),
    Column("Sampled", TEXT, 11, False), Column("Medium", TEXT, 12), Column("Analyte", TEXT, 25), Column("CAS number", TEXT, 12, False),
    Column("Result", NUMBER, 11), Column("Lab flag", TEXT, 7, False), Column("Unit", TEXT, 7), Column("Level", NUMBER, 11),
    Column("Level as printed", TEXT, 14, False), Column("Ratio", NUMBER, 8), Column("Why", LONG, 46),
    Column("Level table", TEXT, 17, False), Column("Version", TEXT, 11, False), Column("Citation", LONG, 34, False),
    Column("Source", LONG, 40, False),
)  # fmt: skip


def _listed(item: Document) -> tuple[Value, ...]:
    printed = f"{item['level']} {item['level_unit'] or ''}".strip() if item["level"] else ""
    return (
        MARKS[item["outcome"]], item["location"], item["sample_id"], depth_text(item), (item["sampled_at"] or "")[:10],
        words(item["medium"]), analyte_text(item), item["cas"], result_of(item), letters_of(item), item["unit"], level_of(item), printed,
        amount(item["ratio"]), item["because"], item["table"] if item["level"] else "", item["version"] if item["level"] else "",
        item["citation"] if item["level"] else "", source_text(item["source"]),
    )  # fmt: skip


def analyte_text(item: Document) -> str:
    """The analyte with its fraction."""
    return f"{item['analyte']}, {words(item['fraction'])}" if item["fraction"] else str(item["analyte"])


def exceedances(contents: Contents) -> Listing:
    """Every exceedance, the furthest above its level first."""
    items = worst_first(of_outcome(contents.answer, "exceeds"))
    places = len({item["location"] for item in items})
    title = f"Exceedances: {_count(len(items), 'comparison')} at {_count(places, 'location')}"
    return Listing("Exceedances", title, (), _COLUMNS, tuple(map(_listed, items)))


def exceedances_by_analyte(contents: Contents) -> Listing:
    """One row for each medium, analyte and level table, the furthest above its level first."""
    groups: dict[tuple[str, ...], list[Document]] = {}
    for item in worst_first(of_outcome(contents.answer, "exceeds")):
        groups.setdefault((item["medium"], analyte_text(item), item["table"]), []).append(item)
    columns = (
        Column("Medium", TEXT, 12), Column("Analyte", TEXT, 25), Column("Exceedances", NUMBER, 11), Column("Locations", NUMBER, 10),
        Column("Highest against its level", TEXT, 18), Column("Where", LONG, 24), Column("Level", NUMBER, 11), Column("Ratio", NUMBER, 8),
        Column("Level table", TEXT, 17, False),
    )  # fmt: skip
    rows = tuple(
        (
            words(key[0]), key[1], len(items), len({item["location"] for item in items}), amount_text(items[0], flag=True),
            place_text(items[0]), level_of(items[0]), amount(items[0]["ratio"]), key[2],
        )
        for key, items in groups.items()
    )  # fmt: skip
    return Listing("By analyte", f"Exceedances by analyte: {len(rows)} analytes", (), columns, rows)


def open_items(contents: Contents) -> Listing:
    """Every open comparison, then the rows held back and what is missing."""
    answer = contents.answer
    items = by_place(of_outcome(answer, "open"))
    gaps = [item["text"] for item in answer["recommendation"]["open_items"] if item["kind"] == "gap"]
    rows = [_listed(item) for item in items]
    rows += [_beside(HELD, row["sample_id"], row["analyte"], row["reason"], _row_of(row)) for row in answer["held_back"]]
    rows += [_beside(MISSING, "", "", text, "") for text in gaps]
    title = f"Open: {_count(len(items), 'comparison')}, {_count(len(answer['held_back']), 'row')} held back, {_count(len(gaps), 'gap')}"
    notes = ("Nothing in this list is clean: it cannot be shown on which side of the level it lies, or it is missing.",)
    actions = answer["recommendation"].get("actions", ())
    return Listing("Open", title, (*notes, *(f"To close it: {text}" for text in actions)) if rows else (), _COLUMNS, tuple(rows))


def _beside(mark: str, sample: str, analyte: str, why: str, source: str) -> tuple[Value, ...]:
    known: dict[str, Value] = {"Mark": mark, "Sample": sample, "Analyte": analyte, "Why": why, "Source": source}
    return tuple(known.get(column.heading, "") for column in _COLUMNS)


def _row_of(row: Document) -> str:
    return f"{row['file']}, {'sheet ' + row['sheet'] + ', ' if row['sheet'] else ''}row {row['row']}"


def no_level(contents: Contents) -> Listing:
    """Every comparison without a level, the detected ones first."""
    items = by_place(of_outcome(contents.answer, "no_level"))
    items.sort(key=lambda item: not item["detected"])
    detected = sum(item["detected"] for item in items)
    title = f"No level listed: {_count(len(items), 'result')}, {detected} of them detected"
    notes = ("A level that is not listed in these tables is not a pass.",) if items else ()
    return Listing("No level", title, notes, _COLUMNS, tuple(map(_listed, items)))


def no_level_by_analyte(contents: Contents) -> Listing:
    """Analytes that were detected and have no level listed, with the highest detection of each."""
    columns = (
        Column("Mark", MARK, 6), Column("Medium", TEXT, 12), Column("Analyte", TEXT, 25), Column("CAS number", TEXT, 12),
        Column("Detections", NUMBER, 10), Column("Highest", NUMBER, 11), Column("Unit", TEXT, 7), Column("Where", TEXT, 24), Column("Why", LONG, 46),
    )  # fmt: skip
    groups: dict[tuple[str, ...], list[Document]] = {}
    for item in by_place(of_outcome(contents.answer, "no_level")):
        if item["detected"]:
            groups.setdefault((item["medium"], analyte_text(item), item["unit"]), []).append(item)
    rows = []
    for (medium, analyte, unit), items in sorted(groups.items(), key=lambda pair: (pair[0][0], natural(pair[0][1]))):
        highest = max(items, key=lambda item: decimal_of(item["value"]) or Decimal(0))
        rows.append(
            (
                MARKS["no_level"], words(medium), analyte, highest["cas"], len(items), result_of(highest), unit, place_text(highest),
                highest["because"],
            )
        )  # fmt: skip
    total = sum(map(len, groups.values()))
    title = f"Detected, no level listed: {_count(total, 'result')}, {len(rows)} analytes"
    notes = ("A level that is not listed in these tables is not a pass.",) if rows else ()
    return Listing("No level by analyte", title, notes, columns, tuple(rows))


def duplicates(contents: Contents, detected: bool = False) -> Listing:
    """Field duplicates beside their parents: both results, and the outcome that stands; all, or those of which a side is detected."""
    columns = (
        Column("Location", TEXT, 12), Column("Depth", TEXT, 8), Column("Medium", TEXT, 12), Column("Analyte", TEXT, 25),
        Column("Parent", TEXT, 13), Column("Result", NUMBER, 11), Column("Field duplicate", TEXT, 13), Column("Result of the duplicate", NUMBER, 11),
        Column("Unit", TEXT, 7), Column("Relative difference, %", NUMBER, 11), Column("Outcome that stands", TEXT, 16),
        Column("Depends on the rule", TEXT, 10), Column("Level table", TEXT, 17, False), Column("Why", LONG, 46),
    )  # fmt: skip
    rows = []
    left = 0
    for item in by_place(item for item in contents.answer["outcomes"] if item["duplicate"]):
        pair = item["duplicate"]
        for other in pair["field_duplicates"]:
            if detected and not pair["parent"]["detected"] and not other["detected"]:
                left += 1
                continue
            rows.append(
                (
                    item["location"], depth_text(item), words(item["medium"]), analyte_text(item),
                    pair["parent"]["sample_id"], _side(pair["parent"]), other["sample_id"], _side(other), item["unit"],
                    amount(other["relative_difference_percent"]), words(item["outcome"]), "yes" if pair["depends_on_rule"] else "no",
                    item["table"], item["because"],
                )
            )  # fmt: skip
    samples = {row[6] for row in rows}
    title = f"Field duplicates: {_count(len(rows), 'comparison')} of {_count(len(samples), 'field duplicate')}"
    notes = (f"In {_count(left, 'more comparison')} neither side was detected; the workbook lists them.",) if left else ()
    return Listing("Duplicates", title, notes, columns, tuple(rows))


def _side(side: Document) -> Amount:
    return Amount(side["result"], decimal_of(side["result"]) if side["detected"] else None)


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def result_lists(contents: Contents) -> Sequence[Listing]:
    """The lists of outcomes in the order in which they are read."""
    return [exceedances(contents), open_items(contents), no_level(contents), duplicates(contents)]
