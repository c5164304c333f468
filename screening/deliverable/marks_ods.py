"""Marks of an OpenDocument spreadsheet, from its content and the styles that the content refers to."""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Iterator
from xml.etree import ElementTree

from screening.deliverable.extent import LAST_ROW, Misshapen, refuse_spread, repeats_in
from screening.deliverable.marks import Marks
from screening.errors import Refused

OFFICE, TABLE, STYLE, TEXT = (
    f"{{urn:oasis:names:tc:opendocument:xmlns:{name}:1.0}}" for name in ("office", "table", "style", "text")
)
VALUES = ("value", "string-value", "date-value", "time-value", "boolean-value")
FURTHEST = 20_000
"""Repeated rows or columns beyond this are the empty rest of a sheet."""


class _Styles:
    """Which named styles strike text through, alone or by the style they are made from, and which hide a table."""

    def __init__(self, roots: list[ElementTree.Element]) -> None:
        self._made_from: dict[str, str] = {}
        self._struck: dict[str, bool] = {}
        self._hides: set[str] = set()
        for root in roots:
            for style in root.iter(f"{STYLE}style"):
                name = style.get(f"{STYLE}name") or ""
                self._made_from[name] = style.get(f"{STYLE}parent-style-name") or ""
                for text in style.iter(f"{STYLE}text-properties"):
                    line = text.get(f"{STYLE}text-line-through-style") or text.get(f"{STYLE}text-line-through-type")
                    if line is not None:
                        self._struck[name] = line != "none"
                if any(part.get(f"{TABLE}display") == "false" for part in style.iter(f"{STYLE}table-properties")):
                    self._hides.add(name)

    def strikes(self, name: str | None) -> bool:
        """Whether text in this style is struck through."""
        passed: set[str] = set()
        while name and name not in passed:
            if name in self._struck:
                return self._struck[name]
            passed.add(name)
            name = self._made_from.get(name)
        return False

    def hides(self, name: str | None) -> bool:
        """Whether a table in this style is not shown."""
        return name in self._hides


def ods_marks(file: str, data: bytes) -> dict[str, Marks]:
    """The marks of each sheet by name. Raises `Refused` where the content declares entities or is damaged."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            texts = {name: archive.read(name) for name in ("content.xml", "styles.xml") if name in archive.namelist()}
        if any(b"<!ENTITY" in text or b"<!DOCTYPE" in text for text in texts.values()):
            raise Refused(f"{file}: declares entities, which a spreadsheet has no need of; save it again as xlsx")
        roots = {name: ElementTree.fromstring(text) for name, text in texts.items()}
    except (ElementTree.ParseError, zipfile.BadZipFile, zlib.error, EOFError, LookupError, ValueError, RuntimeError) as error:
        raise Refused(f"{file}: is damaged ({error}); save it again as xlsx or csv") from error
    styles = _Styles(list(roots.values()))
    try:
        for page in roots["content.xml"].iter(f"{TABLE}table"):
            _refuse_spread(file, page)
        return {page.get(f"{TABLE}name") or "": _marks(page, styles) for page in roots["content.xml"].iter(f"{TABLE}table")}
    except (Misshapen, RecursionError) as error:
        raise Refused(f"{file}: is damaged ({error}); save it again as xlsx or csv") from error


def _refuse_spread(file: str, page: ElementTree.Element) -> None:
    """A row or cell that is repeated very often is made once for each time by whoever reads it."""
    last_row = last_column = filled = 0
    for first, count, row in _counted(page, "table-row", "number-rows-repeated", LAST_ROW * 10):
        for at, wide, cell in _counted(row, "table-cell", "number-columns-repeated", LAST_ROW * 10):
            if len(cell) or cell.get(f"{OFFICE}value-type") or cell.get(f"{TABLE}formula"):
                last_row, last_column = max(last_row, first + count - 1), max(last_column, at + wide - 1)
                filled += 1
    refuse_spread(file, page.get(f"{TABLE}name") or "", last_row, last_column, filled)


def _marks(page: ElementTree.Element, styles: _Styles) -> Marks:
    hidden_columns: set[int] = set()
    usual: dict[int, str | None] = {}
    for at, count, column in _counted(page, "table-column", "number-columns-repeated"):
        if column.get(f"{TABLE}visibility") in ("collapse", "filter"):
            hidden_columns |= set(range(at, at + count))
        if styles.strikes(name := column.get(f"{TABLE}default-cell-style-name")):
            usual |= dict.fromkeys(range(at, at + count), name)
    hidden_rows: set[int] = set()
    struck: set[tuple[int, int]] = set()
    uncalculated: set[tuple[int, int]] = set()
    for first, count, row in _counted(page, "table-row", "number-rows-repeated"):
        rows = range(first, first + count)
        if row.get(f"{TABLE}visibility") in ("collapse", "filter"):
            hidden_rows |= set(rows)
        of_row = row.get(f"{TABLE}default-cell-style-name")
        for at, wide, cell in _counted(row, "table-cell", "number-columns-repeated"):
            if not len(cell) and not cell.get(f"{TABLE}formula"):
                continue
            places = ((number, column) for number in rows for column in range(at, at + wide))
            if any("".join(part.itertext()).strip() for part in cell.iter(f"{TEXT}p")):
                spans = [span.get(f"{TEXT}style-name") for span in cell.iter(f"{TEXT}span")]
                own = cell.get(f"{TABLE}style-name")
                struck |= {place for place in places if any(map(styles.strikes, [own or of_row or usual.get(place[1]), *spans]))}
            elif cell.get(f"{TABLE}formula") and not any(cell.get(f"{OFFICE}{name}") for name in VALUES):
                uncalculated.update(places)
    hidden = styles.hides(page.get(f"{TABLE}style-name"))
    return Marks(hidden, frozenset(hidden_rows), frozenset(hidden_columns), frozenset(struck), frozenset(uncalculated))


def _counted(
    parent: ElementTree.Element, tag: str, repeated: str, furthest: int = FURTHEST
) -> Iterator[tuple[int, int, ElementTree.Element]]:
    """Each row, column or cell with the number it begins at and how often it is repeated, also those within groups."""
    number = 1
    for part in _within(parent, {f"{TABLE}{tag}", f"{TABLE}covered-{tag}"}):
        count = repeats_in(part.get(f"{TABLE}{repeated}"))
        yield number, min(count, furthest), part
        number += count


def _within(parent: ElementTree.Element, wanted: set[str]) -> Iterator[ElementTree.Element]:
    for part in parent:
        if part.tag in wanted:
            yield part
        elif part.tag.endswith(("-group", "-rows", "-columns", "header-rows", "header-columns")):
            yield from _within(part, wanted)
