"""The plain rows of a sheet's XML, taken out of it by pattern; what is left is small and is read as XML.

A tree of the whole sheet takes several times as long as all the rest of its reading. The cells of a row are taken out only
where every byte of them is of the one form that all readers of XML take for the same; any other row stays where it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import chain

TAKEN = "taken-out"
"""The element that stands for the cells taken out; its attribute ``row`` is their place in the list of rows."""
_TEXT = r"[^<&\x00-\x08\x0b-\x1f\ufffe\uffff]*"
_ESCAPED = rf"{_TEXT}(?:&(?:lt|gt|amp|quot|apos);{_TEXT})*"
_HELD = rf'(?:<v>{_ESCAPED}</v>|<is><t(?: xml:space="preserve")?>{_ESCAPED}</t></is>)?</c>'
_CELL = re.compile(
    rf'<c r="([A-Z]{{1,3}})([1-9][0-9]{{0,6}})"((?: s="[0-9]{{1,5}}")?(?: t="(?:n|s|b|e|str|inlineStr)")?(?:/>|>{_HELD}))'
)
_BESIDE = len('<c r=""')
_REST = re.compile(r'(?: s="([0-9]+)")?(?: t="(\w+)")?(?:/>|>(?:<v>([^<]*)</v>|<is><t[^>]*>([^<]*)</t></is>)?</c>)')
_ROW = re.compile(r"<row(?: [^<>/]*)?>")
_ROW_END = "</row>"
_DECLARED = re.compile(r"""<\?xml version=["']1\.0["'](?: encoding=["'][Uu][Tt][Ff]-8["'])?(?: standalone=["']\w+["'])?\s*\?>""")
_NAMED = (("&lt;", "<"), ("&gt;", ">"), ("&quot;", '"'), ("&apos;", "'"), ("&amp;", "&"))
_BEGIN, _END = "<sheetData>", "</sheetData>"

Cell = tuple[str, str, str]
"""Column and row of a cell, and the rest of it, which many cells have alike."""


def take_out(data: bytes) -> tuple[bytes, list[list[Cell]]] | None:
    """A sheet's XML without the cells of its plain rows, and those rows; None where it is no plain XML in UTF-8."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return None
    declared = _DECLARED.match(text)
    if any(mark in text for mark in ("<!", "]]>", TAKEN)) or text.find("<?", declared.end() if declared else 0) >= 0:
        return None
    begin, end = text.find(_BEGIN) + len(_BEGIN), text.rfind(_END)
    if begin < len(_BEGIN) or end < begin:
        return None
    taken: list[list[Cell]] = []
    left = "".join([text[:begin], *_left(text, begin, end, taken), text[end:]])
    return left.encode(), taken


def _left(text: str, begin: int, end: int, taken: list[list[Cell]]) -> Iterator[str]:
    at = begin
    while (row := _ROW.match(text, at, end)) and (last := text.find(_ROW_END, row.end(), end)) >= 0:
        cells = _CELL.findall(text, row.end(), last)
        together = sum(map(len, chain.from_iterable(cells)))
        if cells and together + _BESIDE * len(cells) == last - row.end():
            yield f'{row[0]}<{TAKEN} row="{len(taken)}"/>{_ROW_END}'
            taken.append(cells)
        else:
            yield text[at : last + len(_ROW_END)]
        at = last + len(_ROW_END)
    yield text[at:end]


def parts_of(rest: str) -> tuple[int, str, str | None, str | None]:
    """Style, kind, value and text in the cell, of the rest of a cell; None for what is not there."""
    found = _REST.fullmatch(rest)
    assert found is not None, "it was taken out as such"
    return int(found[1] or 0), found[2] or "n", _written(found[3]), _written(found[4])


def _written(text: str | None) -> str | None:
    """A text as it is meant: the five signs that XML writes by name."""
    if text and "&" in text:
        for name, sign in _NAMED:
            text = text.replace(name, sign)
    return text
