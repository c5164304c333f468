"""The plain rows of a sheet's XML, taken out of it by pattern; what is left is small and is read as XML.

A tree of the whole sheet takes several times as long as all the rest of its reading. The cells of a row are taken out only
where every byte of them is of the one form that all readers of XML take for the same; any other row stays where it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

TAKEN = "taken-out"
"""The element that stands for the cells taken out; its attribute ``row`` is their place in the list of rows."""
_TEXT = r"[^<&\x00-\x08\x0b-\x1f\ufffe\uffff]*"
_ESCAPED = rf"{_TEXT}(?:&(?:lt|gt|amp|quot|apos);{_TEXT})*"
_CELL = re.compile(
    r'(<c r="([A-Z]{1,3})([1-9][0-9]{0,6})"(?: s="([0-9]{1,5})")?(?: t="(n|s|b|e|str|inlineStr)")?(?:/>|>'
    rf'(?:<v>({_ESCAPED})</v>|<is><t(?: xml:space="preserve")?>({_ESCAPED})</t></is>)?</c>))'
)
_ROW = re.compile(r"<row(?: [^<>/]*)?>")
_ROW_END = "</row>"
_DECLARED = re.compile(r"""<\?xml version=["']1\.0["'](?: encoding=["'][Uu][Tt][Ff]-8["'])?(?: standalone=["']\w+["'])?\s*\?>""")
_NAMED = (("&lt;", "<"), ("&gt;", ">"), ("&quot;", '"'), ("&apos;", "'"), ("&amp;", "&"))
_BEGIN, _END = "<sheetData>", "</sheetData>"

Cell = tuple[str, str, str, str, str, str, str]
"""The whole cell, and of it column, row, style, kind, value and text in the cell; '' for what is not there."""


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
        if cells and sum([len(cell[0]) for cell in cells]) == last - row.end():
            yield f'{row[0]}<{TAKEN} row="{len(taken)}"/>{_ROW_END}'
            taken.append(cells)
        else:
            yield text[at : last + len(_ROW_END)]
        at = last + len(_ROW_END)
    yield text[at:end]


def written(text: str) -> str:
    """A text of a cell taken out as it is meant: the five signs that XML writes by name."""
    if "&" in text:
        for name, sign in _NAMED:
            text = text.replace(name, sign)
    return text
