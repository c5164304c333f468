"""Whether a file writes a decimal point or a decimal comma: found from the numbers that allow only one reading."""

from __future__ import annotations

import re
from collections.abc import Iterable

from screening.deliverable.grid import is_result
from screening.errors import Refused

_COMMA_ONLY = re.compile(
    r"(?<![\d.,])\d+,(?:\d{1,2}|\d{4,})(?![\d,.])|(?<![\d.,])0,\d+(?![\d,.])|\d\.\d{3},\d|(?<![\d.,])\d{1,3}(?:\.\d{3}){2,}(?![\d.,])"
)
_POINT_ONLY = re.compile(
    r"(?<![\d,.])\d*\.(?:\d{1,2}|\d{4,})(?![\d.,])|(?<![\d.,])0?\.\d+|\d,\d{3}\.\d|(?<![\d.,])\d{1,3}(?:,\d{3}){2,}(?![\d.,])"
)
_EITHER = re.compile(r"(?<![\d.,])[1-9]\d{0,2}\.\d{3}(?![\d.,])")
_THOUSANDS = re.compile(r"(?<![\d.,])[1-9]\d{0,2},\d{3}(?![\d.,])")


def decimal_sign(file: str, texts: Iterable[str], *, semicolons: bool) -> tuple[str, str | None]:
    """The decimal sign of a file's amounts, and a note where it is a comma, parts thousands, or does not fit.

    Raises `Refused` with the question where amounts have a mark that may be either and nothing settles it.
    That is asked of files whose cells are parted by semicolons, as programs do where the comma is the decimal sign;
    other files without any telling amount are read with a decimal point, as laboratories write in the places served.
    """
    comma = point = either = grouped = ""
    for text in filter(is_result, texts):
        comma = comma or (text if _COMMA_ONLY.search(text) else "")
        point = point or (text if _POINT_ONLY.search(text) else "")
        either = either or (text if _EITHER.search(text) else "")
        grouped = grouped or (text if _THOUSANDS.search(text) else "")
    if comma and point:
        note = f"decimal point, as in '{point}'; amounts such as '{comma}' do not fit it and are held back (--set decimal=, reads them)"
        return ".", note
    if comma:
        return ",", f"decimal comma, as '{comma}' allows no other reading"
    if (either or grouped) and not point and semicolons:
        raise Refused(
            f"{file}: '{either or grouped}' may have a decimal point or a mark of thousands, and no other amount settles it; "
            "say --set decimal=. or --set decimal=,"
        )
    return ".", f"comma read as a mark of thousands, as in '{grouped}'" if grouped else None
