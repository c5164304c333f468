"""Number formats of a workbook: which of them show a date, and the numbers of those that need no words of their own."""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache

BUILT_IN = {
    0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 5: '"$"#,##0_);("$"#,##0)', 6: '"$"#,##0_);[Red]("$"#,##0)',
    7: '"$"#,##0.00_);("$"#,##0.00)', 8: '"$"#,##0.00_);[Red]("$"#,##0.00)', 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?",
    13: "# ??/??", 14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm",
    21: "h:mm:ss", 22: "m/d/yy h:mm", 37: "#,##0_);(#,##0)", 38: "#,##0_);[Red](#,##0)", 39: "#,##0.00_);(#,##0.00)",
    40: "#,##0.00_);[Red](#,##0.00)", 41: r'_(* #,##0_);_(* \(#,##0\);_(* "-"_);_(@_)',
    42: r'_("$"* #,##0_);_("$"* \(#,##0\);_("$"* "-"_);_(@_)', 43: r'_(* #,##0.00_);_(* \(#,##0.00\);_(* "-"??_);_(@_)',
    44: r'_("$"* #,##0.00_)_("$"* \(#,##0.00\)_("$"* "-"??_)_(@_)', 45: "mm:ss", 46: "[h]:mm:ss", 47: "mmss.0", 48: "##0.0E+0", 49: "@",
}  # fmt: skip
"""Formats that a workbook names by number alone (ECMA-376 part 1, 18.8.30)."""
FIRST_OWN = 164
"""Numbers from here on are the workbook's own formats."""

_LITERAL = re.compile(r'".*?"|\[(?!hh?\]|mm?\]|ss?\])[^\]]*\]')
_DATE = re.compile(r"(?<![_\\])[dmhysDMHYS]")
_SPAN = re.compile(r"\[hh?\]|\[mm?\]|\[ss?\]", re.IGNORECASE)
_LEAP_DAY = 60
"""Spreadsheets know a 29 February 1900; before it their day numbers are one too small."""
_BEGIN = dt.datetime(1899, 12, 30)
_BEGIN_1904 = dt.datetime(1904, 1, 1)


@lru_cache(maxsize=4096)
def shows_date(code: str) -> bool:
    """Whether a number in this format is a point in time."""
    return bool(_DATE.search(_LITERAL.sub("", code.split(";")[0])))


@lru_cache(maxsize=4096)
def shows_span(code: str) -> bool:
    """Whether a number in this format is a length of time."""
    return bool(_SPAN.search(code.split(";")[0]))


def moment_of(days: float, *, since_1904: bool) -> dt.datetime | dt.time | None:
    """The point in time of a day number, to the millisecond; a part of a day is a time of day. None below 0."""
    if days < 0:
        return None
    day, part = divmod(days, 1)
    passed = dt.timedelta(milliseconds=round(part * 86_400_000))
    if days < 1 and not passed.days:
        return (dt.datetime.min + passed).time()
    if days < _LEAP_DAY and not since_1904:
        day += 1
    return (_BEGIN_1904 if since_1904 else _BEGIN) + dt.timedelta(days=day) + passed
