"""Holds a mapping read from TOML against the keys that the loader knows; anything else is refused by name."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from screening.errors import Refused

_NAMES = {str: "text", list: "a list", dict: "a section", bool: "true or false", datetime.date: "a date"}


class BrokenTable(Refused):
    """A level table on disk cannot be used as it stands; the message names the file, the place and the remedy."""


@dataclass(frozen=True)
class Key:
    """One key: the type of its value and, when fixed, the values that it may take."""

    kind: type
    required: bool = False
    allowed: tuple[str, ...] = ()


def fit(found: Any, keys: Mapping[str, Key], file: str, where: str = "") -> dict[str, Any]:
    """`found` when every key is known, of the right type and none is missing; otherwise BrokenTable."""
    place = f" in [{where}]" if where else ""
    if not isinstance(found, dict):
        raise BrokenTable(f"{file}: {where} must be a section of keys and values")
    for name, value in found.items():
        key = keys.get(name)
        if key is None:
            near = get_close_matches(name, keys, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"known keys: {', '.join(sorted(keys))}"
            raise BrokenTable(f"{file}: unknown key {name!r}{place}; {hint}")
        if type(value) is not key.kind:
            raise BrokenTable(f"{file}: {name!r}{place} must be {_NAMES[key.kind]}, found {value!r}")
        if key.allowed and value not in key.allowed:
            raise BrokenTable(f"{file}: {name!r}{place} is {value!r}; write one of {', '.join(key.allowed)}")
    for name, key in keys.items():
        if key.required and name not in found:
            raise BrokenTable(f"{file}: {name!r} is missing{place}; add it")
    return found


def texts(found: Any, file: str, name: str) -> tuple[str, ...]:
    """A list of texts (whole numbers are taken as their digits), or BrokenTable."""
    if not isinstance(found, list) or any(type(one) not in (str, int) for one in found):
        raise BrokenTable(f"{file}: {name!r} must be a list of texts")
    return tuple(str(one) for one in found)


def number(text: str, at: str) -> Decimal:
    """A number written as text, or BrokenTable; ``at`` names file and place."""
    try:
        read = Decimal(text)
    except ArithmeticError:
        read = Decimal("NaN")
    if not read.is_finite():
        raise BrokenTable(f"{at} is {text!r}; write a number in quotes, as '0.1'")
    return read


def day(text: str, file: str, name: str) -> datetime.date:
    """A date written year-month-day, or BrokenTable."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise BrokenTable(f"{file}: {name} is {text!r}; write a date as 2017-01-31") from None
