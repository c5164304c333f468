"""The page of a run: one html file that needs no network, readable by eye, keyboard and screen reader, on screen and on paper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from screening.decision.contents import STALE
from screening.decision.words import STATUS_WORDS
from screening.outputs import evidence, lists
from screening.outputs.page.columns import list_columns
from screening.outputs.page.derivations import derivations
from screening.outputs.page.pictures import by_location, signs, standing
from screening.outputs.page.policy import block, policy, script, style
from screening.outputs.page.rows import OUTCOMES, result_columns, result_rows
from screening.outputs.summary import summary_lines
from screening.outputs.tables import KEY
from screening.outputs.texts import readable

if TYPE_CHECKING:
    from screening.decision.contents import Contents

NAME = "page.html"
LONGEST = 3_000
"""Characters of one text in the page outside its data; more is cut, and its length said."""
LONGEST_NAME = 200
"""Characters of a name that was not taken over."""
SHORT_LIST = 60
"""Rows of a list that stand in the page as they are; a longer one is drawn page by page."""
FEW_EXCEEDANCES = 20
"""Up to so many, the list needs no summary by analyte."""
LONG_WORD = 26
"""A word of more characters may be broken anywhere."""
_WIDTHS = (4, 6, 8, 10, 13, 16, 20, 26, 34, 44)
"""Least widths that the styles know, in figures."""
_STATUS_SIGNS = {"triggered": "exceeds", "not_triggered": "does_not_exceed", "undetermined": "open"}


def files(contents: Contents) -> Mapping[str, bytes]:
    """The page as one file."""
    template = _environment().get_template("page.html")
    return {NAME: template.render(_context(contents)).encode()}


def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("screening.outputs.page"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, finalize=_shown,
    )  # fmt: skip
    made.filters["name"] = lambda text: readable(text, LONGEST_NAME)
    made.globals |= {"cell_text": lists.cell_text, "classes": _classes}
    return made


def _shown(value: object) -> object:
    """Every text that a template shows passes here: nothing invisible, nothing endless."""
    return readable(value, LONGEST) if isinstance(value, str) and not isinstance(value, Markup) else value


def _classes(one: lists.Listing) -> list[str]:
    """The classes of a list's columns: what they hold, their least width, and how their texts may be broken."""
    made = []
    for number, column in enumerate(one.columns):
        texts = [lists.cell_text(row[number]) for row in one.rows]
        wanted = column.width * 0.7
        names = [column.holds, f"w{min(_WIDTHS, key=lambda known, wanted=wanted: abs(known - wanted))}"]  # type: ignore[misc]
        if column.holds != lists.LONG and all(len(text) <= min(column.width + 2, LONG_WORD) for text in texts):
            names.append("short")
        if any(len(word) > LONG_WORD for text in texts for word in text.split()):
            names.append("breaks")
        made.append(" ".join(names if column.narrow else [*names, "wide"]))
    return made


def _context(contents: Contents) -> dict[str, Any]:
    answer = contents.answer
    advice = answer["recommendation"]
    rows = result_rows(contents)
    own_lists = _lists(contents)
    styles = style(f"run {answer['run']}, data state {answer['data']}, seen from {contents.today.isoformat()}")
    scripts = script()
    status, _, word = STATUS_WORDS[advice["status"]].partition(" (")
    return {
        "policy": policy([styles], [scripts]), "style": styles, "script": scripts, "signs": signs(), "pictures": standing(contents),
        "stale": STALE if contents.stale else "", "site": contents.site, "answer": answer, "today": contents.today.isoformat(),
        "status": status.capitalize(), "status_word": word.removesuffix(")"), "status_sign": _STATUS_SIGNS[advice["status"]],
        "summary": summary_lines(answer), "gaps": [item["text"] for item in advice["open_items"] if item["kind"] == "gap"],
        "actions": advice.get("actions", []), "methods": advice.get("closure_methods", {}), "held": answer["held_back"],
        "exceedances": lists.exceedances(contents), "open": lists.open_items(contents),
        "lists": own_lists, "key": KEY, "outcomes": OUTCOMES, "several_tables": len(answer["levels"]) > 1, "short_list": SHORT_LIST,
        "rows_block": block({"count": len(rows), "outcomes": list(OUTCOMES.items()), "columns": result_columns(rows)}),
        "derivations_block": block(derivations(contents, rows)),
        "pictures_block": block(by_location(contents)),
        "list_blocks": {
            name: block({"count": len(one.rows), "columns": list_columns(one)})
            for name, one in own_lists.items()
            if len(one.rows) > SHORT_LIST
        },
    }  # fmt: skip


def _without(one: lists.Listing, *headings: str) -> lists.Listing:
    """A list without columns that a click on its result shows better."""
    kept = [number for number, column in enumerate(one.columns) if column.heading not in headings]
    rows = tuple(tuple(row[number] for number in kept) for row in one.rows)
    return replace(one, columns=tuple(one.columns[number] for number in kept), rows=rows)


def _dense(one: lists.Listing) -> lists.Listing:
    shown, alike = lists.said_once(one, narrow=False)
    return replace(shown, notes=(*((alike,) if alike else ()), *one.notes))


def _lists(contents: Contents) -> dict[str, lists.Listing]:
    sources = evidence.sources(contents)
    beside = tuple(row for row, one in zip(sources.rows, contents.results, strict=True) if not one["chosen"])
    title = f"Not chosen, and quality control: {len(beside)} numbers"
    many = contents.answer["counts"]["exceeds"] > FEW_EXCEEDANCES
    return {
        **({"by_analyte": lists.exceedances_by_analyte(contents)} if many else {}),
        "duplicates": _without(lists.duplicates(contents), "Level table", "Why"), "quality": _dense(evidence.quality(contents)), "checks": evidence.checks(contents),
        "coverage": _dense(evidence.coverage(contents)), "deadlines": _dense(evidence.deadlines(contents)), "papers": _dense(evidence.papers(contents)),
        "levels": _dense(evidence.levels(contents)), "files": evidence.files_read(contents), "settings": evidence.settings(contents),
        "beside": replace(sources, title=title, rows=beside),
    }  # fmt: skip
