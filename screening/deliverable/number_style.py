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


def decimal_sign(file: str, texts: Iterable[str]) -> tuple[str, str | None]:
    """The decimal sign of a file's amounts, and a note where it is a comma.

    Raises `Refused` with the question where some amounts can only be read with a comma and others only with a point.
    A file without any such amount is read with a decimal point, as laboratories write in the places served.
    """
    comma = point = either = ""
    for text in filter(is_result, texts):
        comma = comma or (text if _COMMA_ONLY.search(text) else "")
        point = point or (text if _POINT_ONLY.search(text) else "")
        either = either or (text if _EITHER.search(text) else "")
    if comma and point:
        raise Refused(
            f"{file}: '{comma}' has a decimal comma, '{point}' a decimal point; say --set decimal=, or --set decimal=. "
            "once the laboratory has told which"
        )
    if comma:
        return ",", f"decimal comma, as '{comma}' allows no other reading"
    if either and not point:
        raise Refused(
            f"{file}: '{either}' may have a decimal point or a mark of thousands, and no other amount settles it; "
            "say --set decimal=. or --set decimal=,"
        )
    return ".", None
