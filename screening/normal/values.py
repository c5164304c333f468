"""Reported texts as numbers: every way in which laboratories write a result, a non-detect or a limit."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Literal

PLACES = 18
"""Decimals that the store keeps (DECIMAL(38, 18)); a number with more is held, never rounded."""
WHOLE_DIGITS = 20

State = Literal["number", "not_detected", "trace", "not_analysed", "blank", "unreadable"]
NOT_DETECTED = {
    "nd",
    "n.d.",
    "n.d",
    "n/d",
    "not detected",
    "none detected",
    "bdl",
    "bql",
    "brl",
    "bmdl",
    "u",
    "<",
    "below detection limit",
}
NOT_ANALYSED = {
    "na",
    "n/a",
    "n.a.",
    "ns",
    "nr",
    "nt",
    "--",
    "---",
    "-",
    "–",
    "—",
    "not analyzed",
    "not analysed",
    "not sampled",
    "not reported",
    "not tested",
    "not available",
}
TRACE = {"trace", "tr", "tr.", "present", "detected", "detected not quantified", "dnq"}
NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_LEADING = re.compile(r"^(?P<sign>nd\s*[<@(=]?|n\.d\.\s*[<@(]?|<|>|~|≈|ca\.?|approx\.?|u(?=\s*<))\s*", re.IGNORECASE)
_BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_POWER = re.compile(r"^([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*[x×*·]\s*10\s*\^?\s*([+-]?\d+)", re.IGNORECASE)
_GROUPED = re.compile(r"^[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?(?![\d,])")
_SPACED = re.compile(r"^[+-]?\d{1,3}(?: \d{3})+(?:\.\d*)?(?!\d)")
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")


@dataclass(frozen=True)
class Reported:
    """One reported text. ``number`` keeps the digits as written; ``sign`` is '', '<', '>' or '~'; ``letters`` are
    the qualifiers that stood in the cell; ``problem`` says why a person must decide."""

    state: State
    number: Decimal | None = None
    sign: str = ""
    letters: str = ""
    problem: str | None = None
    proposal: str | None = None


@lru_cache(maxsize=1 << 16)
def read_reported(text: str, decimal: str = ".") -> Reported:
    """Read a result cell. Never raises: what cannot be read has the state 'unreadable' and a problem.

    >>> read_reported("< 0.5 U")
    Reported(state='not_detected', number=Decimal('0.5'), sign='<', letters='U', problem=None, proposal=None)
    """
    if decimal == "." and _BARE.fullmatch(text):
        number = Decimal(text)
        problem = _too_long(number)
        return Reported("unreadable", problem=problem) if problem else Reported("number", number)
    plain = _plain(text)
    word = plain.casefold().strip("()[] ")
    if not plain:
        return Reported("blank")
    if word in NOT_ANALYSED:
        return Reported("not_analysed")
    if word in NOT_DETECTED:
        return Reported("not_detected", letters="U" if word == "u" else "ND")
    if word in TRACE:
        return Reported("trace")
    leading = _LEADING.match(plain)
    sign, rest = "", plain
    if leading:
        mark = leading["sign"].casefold()
        sign = "<" if mark[0] in "nu<" else ">" if mark == ">" else "~"
        rest = plain[leading.end() :].lstrip("(@<= ")
    before = re.match(r"^([A-Za-z*][A-Za-z+*-]?)\s+(?=[\d.])", rest)
    letters = ""
    if before and not leading:
        letters, rest = before[1], rest[before.end() :]
    found, rest, problem = _number(rest, decimal)
    if found is None:
        return Reported("unreadable", problem=problem or f"'{text.strip()}' is no result that can be read")
    letters = f"{letters} {rest.strip(' )],;')}".strip().lstrip("(")
    if re.search(r"\d[\d.,]*\d|[.,]\d|[<>@=]", letters) or len(letters) > 24:
        return Reported("unreadable", problem=f"'{text.strip()}' holds more than one number or mark")
    problem = _too_long(found)
    if problem:
        return Reported("unreadable", problem=problem)
    return Reported("not_detected" if sign == "<" else "number", found, sign, letters.strip())


def _plain(text: str) -> str:
    text = unicodedata.normalize("NFKC", text.translate(_SUPERSCRIPTS)).replace("\u2212", "-").replace("˂", "<")
    return " ".join(text.split())


def _number(text: str, decimal: str) -> tuple[Decimal | None, str, str | None]:
    """The number at the head of the text, what stands behind it, and why it cannot be read."""
    if decimal == ",":
        grouped = re.match(r"^[+-]?\d{1,3}(?:[. ]\d{3})+(?:,\d*)?(?![\d.])|^[+-]?\d*,?\d+(?:[eE][+-]?\d+)?", text)
        if not grouped:
            return None, text, None
        head = grouped[0]
        if "," not in head and re.fullmatch(r"[+-]?\d+", head) and text[len(head) :][:1] == ".":
            return None, text, f"'{text}' has a decimal point, but the layout says decimal comma"
        return Decimal(re.sub(r"[. ]", "", head).replace(",", ".")), text[grouped.end() :], None
    power = _POWER.match(text)
    if power:
        return Decimal(power[1]).scaleb(int(power[2])) if len(power[2]) < 4 else None, text[power.end() :], None
    for pattern in (_GROUPED, _SPACED):
        grouped = pattern.match(text)
        if grouped:
            return Decimal(re.sub(r"[, ]", "", grouped[0])), text[grouped.end() :], None
    match = re.match(NUMBER, text)
    if not match:
        return None, text, None
    rest = text[match.end() :]
    if rest[:1] == "," and rest[1:2].isdigit():
        return None, text, f"'{text}' may have a decimal comma; say --set decimal=, if it has"
    return (Decimal(match[0]) if abs(_power_of(match[0])) < 100 else None), rest, None


def _power_of(text: str) -> int:
    exponent = re.search(r"[eE]([+-]?\d+)$", text) if "e" in text or "E" in text else None
    return int(exponent[1]) if exponent and len(exponent[1]) < 9 else (999 if exponent else 0)


def _too_long(number: Decimal) -> str | None:
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)
    if -exponent > PLACES:
        return f"{number} has more than {PLACES} decimals; the store keeps no more"
    if number.adjusted() >= WHOLE_DIGITS:
        return f"{number} has more than {WHOLE_DIGITS} digits before the point; is it a result?"
    return None


@lru_cache(maxsize=1 << 16)
def read_number(text: str, decimal: str = ".") -> Reported:
    """Read a limit, dilution, percentage or depth: a plain number, perhaps with '<' or '%'."""
    found = read_reported(text.rstrip("% ") or text, decimal)
    if found.state == "not_detected" and found.number is not None:
        return replace(found, state="number")
    if found.state in ("number", "blank"):
        return replace(found, problem=f"'{text}' is no plain number") if found.letters else found
    if found.state in ("not_analysed", "not_detected"):
        return Reported("blank")
    return Reported("unreadable", problem=f"'{text}' is no number")
