"""What the document leaves out and says once: nothing is lost but what its notes say stands in the workbook."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO

from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from screening.decision.contents import Contents
from screening.outputs import evidence, lists
from screening.outputs.document import dense
from screening.outputs.document.grid import MARGIN
from screening.outputs.document.widths import widths
from screening.outputs.lists import cell_text, said_once
from screening.outputs.summary import LONG, MOST, brief, summary_lines
from screening.outputs.terminal import show_answer
from tests.outputs.conftest import ANALYTES, SAMPLES

LETTER = 92
"""Twentieths of a point that a letter of the document's tables takes, as in its module."""


def test_what_all_rows_say_is_said_once(contents: Contents) -> None:
    whole = evidence.levels_used(contents)
    shown, told = said_once(whole, narrow=False)
    heads = {column.heading for column in shown.columns}
    for at, column in enumerate(whole.columns):
        texts = {cell_text(row[at]) for row in whole.rows}
        if column.heading not in heads:
            assert len(texts) == 1 and (texts == {""} or f"{column.heading}: {texts.pop()}" in told)
    assert "Level table: us-oh/closure" in told and len(shown.rows) == len(whole.rows) and "Analyte" in heads
    few = replace(whole, rows=whole.rows[:2])
    assert said_once(few, narrow=False) == (few, "")


def test_a_large_site_is_told_by_analyte(wide: Contents) -> None:
    outcomes = [{**item, "outcome": "open"} if at % 2 else item for at, item in enumerate(wide.answer["outcomes"])]
    outcomes = [
        {**item, "outcome": "does_not_exceed"} if item["analyte"] == "Analyte number 7" and item["outcome"] == "exceeds" else item
        for item in outcomes
    ]
    large = replace(wide, answer={**wide.answer, "outcomes": outcomes})
    unsure = sum(item["outcome"] == "open" for item in outcomes)
    found = dense.open_items(large)
    heads = [column.heading for column in found.columns]
    counts = [row[heads.index("Comparisons")] for row in found.rows if row[0] == "?"]
    assert sum(count for count in counts if isinstance(count, int)) == unsure > SAMPLES * ANALYTES / 3
    assert len(counts) == len({item["analyte"] for item in outcomes if item["outcome"] == "open"})
    assert [row[0] for row in found.rows if row[0] != "?"] == ["m", "m"], "gaps stay, one by one"
    assert "The workbook lists each comparison." in found.notes
    (table,) = dense.results(large)
    names = {row.analyte for row in table.rows}
    assert names == {item["analyte"] for item in outcomes if item["outcome"] == "exceeds"} and table.of_rows == ANALYTES
    assert len(table.cells) == len(names) * SAMPLES
    assert all(cell.marks[0].outcome["analyte"] == table.rows[row].analyte for (row, _), cell in table.cells.items())
    over = lists.exceedances(large)
    cut = dense.first_rows(over)
    assert cut.rows == over.rows[: dense.MOST_ROWS]
    assert cut.notes == (f"{len(over.rows) - dense.MOST_ROWS} more rows stand in the workbook.",)


def test_pairs_of_which_no_side_is_detected_are_counted(contents: Contents) -> None:
    every, shown = lists.duplicates(contents), dense.duplicates(contents)
    (note,) = shown.notes
    assert note.startswith(f"In {len(every.rows) - len(shown.rows)} more comparisons neither side was detected")
    assert shown.title != "" and not [row for row in shown.rows if "<" in cell_text(row[5])[:1] and "<" in cell_text(row[7])[:1]]


def test_deadlines_that_do_not_apply_are_counted(contents: Contents) -> None:
    apply = [one for one in contents.deadlines["deadlines"] if one["applies"] is not False]
    shown = dense.deadlines(contents)
    assert len(shown.rows) == len(apply) < len(contents.deadlines["deadlines"])
    assert (
        shown.notes[0]
        == f"Deadlines that do not apply: {len(contents.deadlines['deadlines']) - len(apply)}; the workbook lists them."
    )


words = st.text("abcdefghij", min_size=1, max_size=16)
cells = st.lists(words, max_size=12).map(" ".join)


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 7).flatmap(lambda n: st.tuples(st.lists(words, min_size=n, max_size=n), st.lists(st.lists(cells, min_size=n, max_size=n), max_size=6))))  # fmt: skip
def test_columns_fill_no_more_than_the_page_and_break_no_word(table: tuple[list[str], list[list[str]]]) -> None:
    heads, rows = table
    found = widths(heads, rows, 14_000)
    assert len(found) == len(heads) and sum(found) <= 14_000
    for at, width in enumerate(found):
        longest = max(len(word) for text in (heads[at], *(row[at] for row in rows)) for word in (text.split() or [""]))
        assert width >= LETTER * longest + 2 * MARGIN
    assert sum(widths(heads, rows, 300)) <= 300, "a page that is too narrow is shared out"


def test_a_long_column_gets_the_room() -> None:
    rows = [["soil", "a reason of many words that needs the whole width of the page " * 2, "1"]] * 5
    narrow, wide, number = widths(["Medium", "Why", "Count"], rows, 10_000)
    assert wide > 6_000 and narrow < 1_500 and number < 1_500


def test_a_long_line_keeps_its_begin_and_its_end() -> None:
    samples = ", ".join(f"QW-{number}" for number in range(200))
    text = f"settle Benzene in {samples}: level not available"
    assert brief(text).startswith("settle Benzene in QW-0, ") and brief(text).endswith(": level not available")
    assert len(brief(text)) <= LONG and " … " in brief(text)
    assert brief("x" * 1_000) == "x" * LONG + "…" and brief("short") == "short"


def test_of_many_notes_the_terminal_tells_the_first(contents: Contents) -> None:
    advice = {**contents.answer["recommendation"], "notes": [f"note {at} of a large site" for at in range(60)]}
    out = Console(record=True, width=120, file=StringIO())
    show_answer(out, {**contents.answer, "recommendation": advice})
    told = out.export_text()
    shown = told.count("of a large site")
    assert 0 < shown < MOST and f"... and {len(summary_lines({**contents.answer, 'recommendation': advice})) - MOST} more" in told
