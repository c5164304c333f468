"""The page of a rescreen: one html file that needs nothing else; tables are sorted, filtered and printed as they are shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from importlib import resources
from typing import Any

from screening.outputs.lists import LONG, NUMBER, Amount, Column, Listing, Value
from screening.outputs.page.policy import policy
from screening.outputs.rescreen_words import headline, summary
from screening.outputs.texts import readable

OPEN = ("Flips", "Levels moved", "Portfolio", "Versions", "To know")
"""Lists that are unfolded when the page is opened."""
WIDE = 20
"""Characters from which on a column of texts is broken into lines."""


def page_of(document: Mapping[str, Any], lists: Sequence[Listing]) -> bytes:
    """The page: the same bytes for the same document. Its own style and script are the only ones that it allows."""
    style, script = (_own(name) for name in ("rescreen_page.css", "rescreen_page.js"))
    allowed = policy([style], [script])
    title = _text(headline(document))
    told = "".join(f"<li>{_text(line)}</li>" for line in summary(document))
    links = "".join(f'<li><a href="#{_id(one)}">{_text(one.name)} ({len(one.rows)})</a></li>' for one in lists)
    html = (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(allowed)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n<meta name="color-scheme" content="light dark">\n'
        f"<title>{title}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#flips">To the flips</a>\n'
        f'<header>\n<h1>{title}</h1>\n<ul>{told}</ul>\n<nav aria-label="Lists"><ul>{links}</ul></nav>\n'
        '<p class="tools"><label>Show only rows with <input type="search" id="filter" autocomplete="off"></label> '
        '<span id="shown" role="status"></span> <button type="button" id="shade">Dark or light</button></p>\n</header>\n<main>\n'
        + "".join(_section(one) for one in lists)
        + f"</main>\n<footer><p><strong>Caution.</strong> {_text(document['caution'])}</p></footer>\n"
        f"<script>{script}</script>\n</body>\n</html>\n"
    )
    return html.encode()


def _own(name: str) -> str:
    return (resources.files("screening.outputs") / name).read_text(encoding="utf-8")


def _text(text: str) -> str:
    return escape(readable(text))


def _id(one: Listing) -> str:
    return one.name.lower().replace(" ", "-")


def _section(one: Listing) -> str:
    heads = "".join(
        f'<th scope="col"{_shape(column)}><button type="button">{_text(column.heading)}</button></th>' for column in one.columns
    )
    rows = "".join(
        f"<tr>{''.join(_cell(value, column) for value, column in zip(row, one.columns, strict=True))}</tr>\n" for row in one.rows
    )
    notes = "".join(f"<p>{_text(note)}</p>" for note in one.notes)
    table = (
        f'<div class="wide" role="region" tabindex="0" aria-label="{_text(one.title)}">\n<table>\n<thead><tr>{heads}</tr></thead>\n'
        f"<tbody>\n{rows}</tbody>\n</table>\n</div>\n{notes}"
        if one.rows
        else "<p>Nothing is in this list.</p>"
    )
    unfolded = " open" if one.name in OPEN else ""
    return f'<details id="{_id(one)}"{unfolded}>\n<summary><h2>{_text(one.title)}: {len(one.rows)}</h2></summary>\n{table}\n</details>\n'


def _shape(column: Column) -> str:
    """The classes of a column: how it is aligned and broken, and whether it stays away from paper."""
    width = (
        "number" if column.holds == NUMBER else "long" if column.holds == LONG else "short" if column.width < WIDE else "middle"
    )
    return f' class="{width}{"" if column.narrow else " beside"}"'


def _cell(value: Value, column: Column) -> str:
    shape = _shape(column)
    if value is None or value == "":
        return f"<td{shape}></td>"
    if isinstance(value, Amount):
        key = f' data-key="{value.number}"' if value.number is not None else ""
        return f"<td{shape}{key}>{_text(value.text)}</td>"
    if isinstance(value, int):
        return f'<td{shape} data-key="{value}">{value}</td>'
    strong = value == "TEN-FOLD"
    return f"<td{shape}>{'<strong>' if strong else ''}{_text(value)}{'</strong>' if strong else ''}</td>"
