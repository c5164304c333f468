"""People's text in the terminal: what a project manager would paste into a mail, worst first."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal
from string import ascii_lowercase
from typing import Any

from rich.console import Console, ConsoleOptions, RenderableType
from rich.padding import Padding
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn
from rich.segment import Segment
from rich.table import Table
from rich.text import Text

from screening.decision.words import STATUS_WORDS, amount_text, depth_text, place_text
from screening.outputs.closure_text import show_actions
from screening.outputs.lines import LONGEST
from screening.outputs.lines import bullets as _list
from screening.outputs.lines import head as _head
from screening.outputs.lines import rest as _rest
from screening.outputs.lines import row as _row
from screening.outputs.lines import table as _table
from screening.outputs.summary import MOST, summary_lines
from screening.outputs.tables import MARKS
from screening.outputs.texts import readable


class _Plain(Console):
    """A console to which no text of a file can give orders: what cannot be seen is written out."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """The segments of what is printed; those of a table are its cells', which come by here one by one."""
        segments = super().render(renderable, options)
        return segments if isinstance(renderable, (Table, Padding)) else map(_seen, segments)


def _seen(segment: Segment) -> Segment:
    return segment if segment.control else Segment(readable(segment.text), segment.style)


def console(*, error: bool) -> Console:
    """A console as wide as the terminal, or 120 columns where there is none."""
    width = None if os.environ.get("COLUMNS") or os.isatty(2 if error else 1) else 120
    return _Plain(stderr=error, width=width, highlight=False)


@contextmanager
def progress_bar(out: Console, steps: int) -> Iterator[Callable[[str], None]]:
    """A bar for long work, gone when the work is done; call what it gives with the words of each step begun."""
    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=out,
        transient=True,
        disable=not out.is_terminal,
    ) as bar:
        task = bar.add_task("", total=steps)
        begun = 0

        def advance(words: str) -> None:
            nonlocal begun
            bar.update(task, description=words, completed=begun)
            begun += 1

        yield advance


def show_answer(out: Console, answer: Mapping[str, Any]) -> None:
    """Recommendation first, then exceedances, open items, no level, counts, levels, assumptions, caution."""
    advice, outcomes, counts = answer["recommendation"], answer["outcomes"], answer["counts"]
    out.print()
    out.print(Text(f"{answer['site_name']} (site {answer['site']}), run {answer['run']}, data state {answer['data']}"))
    out.print(Text(STATUS_WORDS[advice["status"]], style="bold reverse"))
    said = summary_lines(answer)
    for line in said[:MOST]:
        out.print(Text(f"  {line}"))
    if len(said) > MOST:
        out.print(Text(f"  ... and {len(said) - MOST} more; --json lists all"))
    _exceedances(out, [item for item in outcomes if item["outcome"] == "exceeds"])
    _open(out, [item for item in outcomes if item["outcome"] == "open"], answer["held_back"], advice["open_items"])
    show_actions(out, advice)
    _unlisted(out, [item for item in outcomes if item["outcome"] == "no_level" and item["detected"]])
    _head(out, f"Counts: {sum(counts.values())} comparisons")
    table = _table(
        "exceeds",
        "open",
        "no level listed",
        "does not exceed",
        "rows held back",
        right=("exceeds", "open", "no level listed", "does not exceed", "rows held back"),
    )
    _row(table, counts["exceeds"], counts["open"], counts["no_level"], counts["does_not_exceed"], len(answer["held_back"]))
    out.print(table)
    _head(out, "Levels used")
    table = _table("table", "version", "stage", "read", "citation")
    for used in answer["levels"]:
        until = f" to {used['until']}" if used["until"] else ""
        _row(table, used["table"], used["version"] + until, used["stage"], used["transcription"], used["citation"])
    out.print(table)
    _list(out, "Warnings", answer["warnings"])
    _list(out, "Assumptions", answer["assumptions"])
    coverage = answer.get("coverage", {})
    _list(out, "Coverage: screening coverage shows it whole", [*coverage.get("assumptions", ()), *coverage.get("notes", ())])
    _head(out, "Caution")
    out.print(Text(advice["caution"]))


def _exceedances(out: Console, items: Sequence[Mapping[str, Any]]) -> None:
    if not items:
        return
    _head(out, f"Exceedances: {len(items)}")
    table = _table(
        "",
        "location",
        "depth",
        "medium",
        "analyte",
        "result",
        "level",
        "ratio",
        "why this row",
        right=("result", "level", "ratio"),
    )
    ordered = sorted(items, key=lambda item: (-Decimal(item["ratio"] or 0), item["location"], item["analyte"]))[:LONGEST]
    reasons, key = _keyed([_row_picked(item) for item in ordered])
    for item, reason in zip(ordered, reasons, strict=True):
        _row(
            table, MARKS["exceeds"], _location(item), depth_text(item), item["medium"].replace("_", " "), item["analyte"],
            amount_text(item, flag=True), f"{item['level']} {item['level_unit']}", item["ratio"], reason,
        )  # fmt: skip
    out.print(table)
    _rest(out, items)
    for line in key:
        out.print(Text(line))


def _keyed(reasons: Sequence[str]) -> tuple[list[str], list[str]]:
    """Phrases that stand in three rows or more become letters, explained once below the table."""
    counts = Counter(phrase for reason in reasons for phrase in set(reason.split("; ")))
    often = [phrase for phrase, count in counts.most_common(26) if count >= 3 and len(phrase) > 12]
    letters = dict(zip(often, ascii_lowercase, strict=False))
    short = [
        "; ".join(f"({letters[phrase]})" if phrase in letters else phrase for phrase in reason.split("; ")) for reason in reasons
    ]
    return short, [f"({letter}) {phrase}" for phrase, letter in letters.items()]


def _row_picked(item: Mapping[str, Any]) -> str:
    """Why this level row, without the comparison that the columns beside it show already."""
    comparison, _, rest = str(item["because"]).partition("; ")
    doubt = comparison.partition(", ")[2]
    return "; ".join(part for part in (doubt, rest) if part) or str(item["table"])


def _location(item: Mapping[str, Any]) -> str:
    same = item["location"] == item["sample_id"]
    kind = " (duplicate)" if item["sample_kind"] == "field_duplicate" else ""
    return str(item["location"]) + ("" if same else f" / {item['sample_id']}") + kind


def _open(
    out: Console, items: Sequence[Mapping[str, Any]], held: Sequence[Mapping[str, Any]], listed: Sequence[Mapping[str, Any]]
) -> None:
    gaps = [item["text"] for item in listed if item["kind"] == "gap"]
    if not items and not held and not gaps:
        return
    _head(out, f"Open: {len(items)} comparisons, {len(held)} rows held back, {len(gaps)} gaps")
    if items:
        table = _table(
            "", "location", "depth", "medium", "analyte", "result", "level", "why it is open", right=("result", "level")
        )
        shown = items[:LONGEST]
        reasons, key = _keyed([item["because"] for item in shown])
        for item, reason in zip(shown, reasons, strict=True):
            level = f"{item['level']} {item['level_unit']}" if item["level"] else ""
            _row(
                table, MARKS["open"], _location(item), depth_text(item), item["medium"].replace("_", " "), item["analyte"],
                amount_text(item, flag=True), level, reason,
            )  # fmt: skip
        out.print(table)
        _rest(out, items)
        for line in key:
            out.print(Text(line))
    if held:
        table = _table("", "held row", "sample", "analyte", "file and row", "reason")
        for row in held[:LONGEST]:
            _row(
                table,
                "h",
                row["id"],
                row["sample_id"],
                row["analyte"],
                f"{row['file']} {row['sheet']} row {row['row']}".replace("  ", " "),
                row["reason"],
            )
        out.print(table)
    for gap in gaps:
        out.print(Text(f"m  {gap}"))


def _unlisted(out: Console, items: Sequence[Mapping[str, Any]]) -> None:
    if not items:
        return
    groups: dict[tuple[str, str, str], list[Mapping[str, Any]]] = {}
    for item in items:
        groups.setdefault((item["medium"], item["analyte"], item["unit"]), []).append(item)
    _head(out, f"Detected, no level listed: {len(items)} results, {len(groups)} analytes (a level not listed is not a pass)")
    table = _table("", "medium", "analyte", "detections", "highest", "where", "why", right=("detections", "highest"))
    for (medium, analyte, _), found in sorted(groups.items()):
        highest = max(found, key=lambda item: Decimal(item["value"] or 0))
        _row(
            table, MARKS["no_level"], medium.replace("_", " "), analyte, len(found), amount_text(highest, flag=True),
            place_text(highest), highest["because"],
        )  # fmt: skip
    out.print(table)


def show_import(out: Console, documents: Sequence[Mapping[str, Any]]) -> None:
    """What each file was read as and the account of its rows."""
    for document in documents:
        rows = document["rows"]
        out.print()
        out.print(
            Text(
                f"{document['file']}: {document['status'].replace('_', ' ')}"
                + (f" as {document['id']}" if document["id"] else ""),
                style="bold",
            )
        )
        out.print(
            Text(
                f"  rows read {rows['read']} = results {rows['results']} + quality control {rows['quality_control']} + "
                f"held back {rows['held_back']} + ignored {rows['ignored']}"
            )
        )
        columns = ", ".join(
            column["field"] + (f" from '{' + '.join(column['headings'])}'" if column["headings"] else "")
            for column in document["columns"]
        )
        out.print(Text(f"  layout {document['layout']}: {columns}"))
        if "preview" in document:
            _show_preview(out, document)
        for warning in document.get("warnings", ()):
            out.print(Text(f"  ! {warning}"))
        for note in document["assumptions"]:
            if not note.startswith("warning: "):  # told above
                out.print(Text(f"  - {note}"))
        for row in document["held_back"][:20]:
            proposal = f"; proposed: {row['proposal']}" if row["proposal"] else ""
            sheet = f"{row['sheet']} " if row["sheet"] else ""
            out.print(Text(f"  h {row['id']} {sheet}row {row['row']}: {row['reason']}{proposal}"))
        if len(document["held_back"]) > 20:
            out.print(Text(f"  ... and {len(document['held_back']) - 20} more: screening held list"))


def _show_preview(out: Console, document: Mapping[str, Any]) -> None:
    """Each field with its evidence, then the first rows as they were read."""
    table = _table("field", "from", "texts", "read", right=("texts", "read"))
    for column in document["columns"]:
        _row(
            table, column["field"], " + ".join(column["headings"]) or "the sheet", column["texts"], f"{column['read_percent']} %"
        )
    out.print(table)
    fields = [column["field"] for column in document["columns"]][:9]
    table = _table("cell", *fields, "becomes")
    for row in document["preview"]:
        _row(
            table, f"{row['sheet']} {row['column']}{row['row']}".strip(), *(row["texts"].get(field, "") for field in fields),
            row["class"].replace("_", " ") + (f": {row['reason']}" if row["reason"] else ""),
        )  # fmt: skip
    out.print(table)


def show_held(out: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    """The rows that wait for a person."""
    if not rows:
        out.print("no row is held back")
        return
    table = _table("held row", "file and row", "field", "text", "reason", "proposal")
    for row in rows:
        _row(
            table,
            row["id"],
            f"{row['file']} {row['sheet']} row {row['row']}".replace("  ", " "),
            row["field"],
            row["text"],
            row["reason"],
            row["proposal"],
        )
    out.print(table)


def show_results(out: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    """Results in the normal form."""
    table = _table("location", "depth", "medium", "kind", "analyte", "result", "basis", "chosen", "source", right=("result",))
    for row in rows[:LONGEST]:
        source = row["source"]
        _row(
            table, row["location"], depth_text(row), row["medium"], row["sample_kind"], row["analyte"],
            amount_text({**row, "qualifiers": row["lab_qualifiers"], "level_normal": None}, flag=True), row["basis"],
            "yes" if row["chosen"] else row["because"], f"{source['file']} {source['sheet']} {source['column']}{source['row']}".replace("  ", " "),
        )  # fmt: skip
    out.print(table)
    _rest(out, rows)


def show_steps(out: Console, steps: Sequence[Mapping[str, Any]]) -> None:
    """The steps of a verdict."""
    table = _table("step", "what")
    for step in steps:
        _row(table, step["step"], step["text"])
    out.print(table)


def show_tables(out: Console, tables: Sequence[Mapping[str, Any]]) -> None:
    """The catalogue of level tables."""
    table = _table("table", "versions", "levels", "media", "stage", "read", right=("levels",))
    table.columns[0].no_wrap = True
    for one in tables:
        versions = ", ".join(
            version["version"] + (f" to {version['until']}" if version["until"] else "") for version in one["versions"]
        )
        levels = sum(version["levels"] for version in one["versions"])
        read = ", ".join(one["transcription"]) + (" (part)" if one["incomplete"] else "")
        _row(table, one["table"], versions, levels, ", ".join(one["media"]).replace("_", " "), one["stage"], read)
    out.print(table)


def show_levels(out: Console, name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """The rows of one version as printed in the rule."""
    table = _table("analyte", "CAS", "medium", "level", "unit", "conditions", "sign", "read", "citation", right=("level",))
    for row in rows:
        conditions = ", ".join(f"{key} {value}" for key, value in row["conditions"].items())
        _row(
            table, row["printed_analyte"], row["cas"], row["medium"].replace("_", " "), row["level"], row["unit"], conditions,
            row["comparison"].replace("_", " "), row["transcription"], row["citation"],
        )  # fmt: skip
    out.print(Text(f"{name}: {len(rows)} rows"))
    out.print(table)


def show_level_changes(out: Console, changes: Sequence[Mapping[str, Any]]) -> None:
    """Levels that two versions of a table do not share."""
    if not changes:
        out.print("no level differs")
        return
    names = [key for key in changes[0] if key != "conditions"]
    table = _table(*(name.replace("_", " ") for name in names), "conditions")
    for change in changes:
        conditions = ", ".join(f"{key} {value}" for key, value in change["conditions"].items())
        _row(table, *("" if change[name] is None else change[name] for name in names), conditions)
    out.print(table)
