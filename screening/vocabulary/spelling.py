"""Making two spellings of one text alike, for every table of this room."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

_SAME_SIGN = str.maketrans(
    {
        "\N{PRIME}": "'", "\N{RIGHT SINGLE QUOTATION MARK}": "'", "\N{LEFT SINGLE QUOTATION MARK}": "'",
        "`": "'", "\N{ACUTE ACCENT}": "'", "\N{MODIFIER LETTER PRIME}": "'", "\N{MODIFIER LETTER APOSTROPHE}": "'",
        "\N{DOUBLE PRIME}": "''", "\N{LEFT DOUBLE QUOTATION MARK}": "''", "\N{RIGHT DOUBLE QUOTATION MARK}": "''",
        "\N{HYPHEN}": "-", "\N{NON-BREAKING HYPHEN}": "-", "\N{FIGURE DASH}": "-", "\N{EN DASH}": "-",
        "\N{EM DASH}": "-", "\N{MINUS SIGN}": "-", "\N{SOFT HYPHEN}": "-",
        "\N{ZERO WIDTH SPACE}": "", "\N{ZERO WIDTH NO-BREAK SPACE}": "",
    }
)  # fmt: skip


def plain(text: str) -> str:
    """Folded case, one kind of quote, prime and dash, single blanks."""
    if text.isascii():
        return " ".join(text.replace("`", "'").lower().split())
    marked = text.translate(_SAME_SIGN)  # before NFKC, which would turn an acute accent into blank + accent
    folded = unicodedata.normalize("NFKC", marked).casefold().translate(_SAME_SIGN)
    return " ".join(folded.split())


def nearest(text: str, choices: Iterable[str], count: int = 3, least: float = 65.0) -> list[str]:
    """The choices most like `text`, best first; none below the likeness `least` (0 to 100)."""
    from rapidfuzz import fuzz, process  # imported here: only held rows need it

    found = process.extract(text, list(choices), scorer=fuzz.ratio, limit=count, score_cutoff=least)
    return [choice for choice, _, _ in found]
