"""Records as they stand in a TOML file, read strictly: each key by the type of its field, an unknown key is an error.

A class of `Record` states its fields with their types and defaults; making one reads what is given, and raises `Fault` for
the first thing that cannot be meant. The types of a class are worked out when the first of its records is read, so that a
program that reads a small file does not pay for all that could stand there.
"""

from __future__ import annotations

import datetime as dt
import functools
import operator
import re
import typing
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from types import NoneType, UnionType
from typing import Annotated, Any, ClassVar, Literal, Self, dataclass_transform, get_args, get_origin

Place = tuple[str | int, ...]
Reader = Callable[[Any, Place], Any]
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d(?:[Tt _]\d\d:\d\d(?::\d\d(?:[.,]\d{1,6})?)?(?:[Zz]|[+-]\d\d:?\d\d)?)?")
_TRUE, _FALSE = frozenset({"1", "on", "t", "true", "y", "yes"}), frozenset({"0", "off", "f", "false", "n", "no"})


class Fault(ValueError):
    """The first thing wrong in what was given: at which keys (and places in lists, from 0), what, and the value there."""

    def __init__(self, place: Place, words: str, given: object, kind: Literal["unknown", "missing", "value"] = "value") -> None:
        super().__init__(words)
        self.place, self.words, self.given, self.kind = place, words, given, kind


@dataclass(frozen=True)
class Before:
    """Changes a value before its type is looked at; a ValueError is the fault."""

    change: Callable[[Any], Any]


@dataclass(frozen=True)
class After:
    """Looks at a value of the right type, or changes it; a ValueError is the fault."""

    look: Callable[[Any], Any]


@dataclass(frozen=True)
class Within:
    """Bounds of a value: fewest characters or items, a pattern of the whole text, the least number."""

    fewest: int = 0
    pattern: str = ""
    least: int | None = None


@dataclass_transform(kw_only_default=True, frozen_default=True)
class Record:
    """Fields with their values; never changed. Those of a class and its bases, in their order."""

    fields: ClassVar[tuple[str, ...]] = ()

    def __init_subclass__(cls) -> None:
        cls.fields = tuple(name for name in dict.fromkeys([*cls.fields, *cls.__annotations__]) if name != "fields")

    def __init__(self, **given: Any) -> None:
        kind: Any = type(self)
        readers, kept = _readers(kind), self.__dict__
        for name in self.fields:
            if name in given:
                kept[name] = readers[name](given[name], (name,))
            elif hasattr(type(self), name):
                kept[name] = getattr(type(self), name)
            else:
                raise Fault((name,), "Field required", given, "missing")
        for name in given:
            if name not in readers:
                raise Fault((name,), "Extra inputs are not permitted", given[name], "unknown")
        with _told((), given):
            self.check()

    def check(self) -> None:
        """Raise ValueError for fields that do not go together."""

    @classmethod
    def read(cls, given: Any) -> Self:
        """A record from a mapping. Raises `Fault`."""
        if isinstance(given, cls):
            return given
        if not isinstance(given, Mapping):
            raise Fault((), f"Input should be a valid dictionary or instance of {cls.__name__}", given)
        return cls(**given)

    def changed(self, **values: Any) -> Self:
        """The same record with other values, which are taken as they are."""
        made = object.__new__(type(self))
        made.__dict__.update(self.__dict__, **values)
        return made

    def plain(self, *, without: Collection[str] = ()) -> dict[str, Any]:
        """The fields as mappings, tuples and values."""
        return {name: _plain(value) for name, value in self.__dict__.items() if name not in without}

    def written(self) -> dict[str, Any]:
        """The fields as JSON has them: decimals and dates as texts."""
        return {name: _written(value) for name, value in self.__dict__.items()}

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is never changed")

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and other.__dict__ == self.__dict__

    def __hash__(self) -> int:
        return hash((type(self), *self.__dict__.values()))

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={getattr(self, name)!r}' for name in self.fields)})"


def _plain(value: Any) -> Any:
    if isinstance(value, Record):
        return value.plain()
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    return {key: _plain(one) for key, one in value.items()} if isinstance(value, Mapping) else value


def _written(value: Any) -> Any:
    if isinstance(value, Record):
        return value.written()
    if isinstance(value, tuple):
        return [_written(one) for one in value]
    if isinstance(value, Mapping):
        return {key: _written(one) for key, one in value.items()}
    if isinstance(value, dt.date):
        return value.isoformat().replace("+00:00", "Z")
    return str(value) if isinstance(value, Decimal) else value


@contextmanager
def _told(place: Place, given: object) -> Iterator[None]:
    """A ValueError within as the fault of what was given at this place."""
    try:
        yield
    except Fault:
        raise
    except ValueError as error:
        raise Fault(place, str(error), given) from error


@functools.cache
def _readers(kind: type[Record]) -> dict[str, Reader]:
    hints = typing.get_type_hints(kind, include_extras=True)
    return {name: _reader(hints[name]) for name in kind.fields}


@functools.cache
def _reader(hint: Any) -> Reader:
    """What reads a value as the type that a hint states."""
    origin, parts = get_origin(hint), get_args(hint)
    if hint in _SIMPLE:
        return _SIMPLE[hint]
    if origin is Annotated:
        return _annotated(_reader(parts[0]), parts[1:])
    if origin is Literal:
        return _one_of(parts)
    if origin in (UnionType, typing.Union):
        if NoneType in parts:
            return _or_none(_reader(functools.reduce(operator.or_, (part for part in parts if part is not NoneType))))
        if set(parts) == {dt.date, dt.datetime}:
            return _moment
    if origin is tuple:
        return _items(parts)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _mapping(_reader(parts[1]))
    if isinstance(hint, type) and issubclass(hint, Record):
        return _record(hint)
    raise TypeError(f"no field can be of the type {hint}")


def _annotated(read: Reader, marks: tuple[Any, ...]) -> Reader:
    """The marks before count from the last, those after from the first."""
    before = [mark.change for mark in reversed(marks) if isinstance(mark, Before)]
    after = [mark.look if isinstance(mark, After) else _within(mark) for mark in marks if not isinstance(mark, Before)]

    def reader(value: Any, place: Place) -> Any:
        found = value
        with _told(place, value):
            for change in before:
                found = change(found)
            found = read(found, place)
            for look in after:
                found = look(found)
        return found

    return reader


def _within(bounds: Within) -> Callable[[Any], Any]:
    pattern = re.compile(bounds.pattern) if bounds.pattern else None

    def look(value: Any) -> Any:
        if bounds.fewest and len(value) < bounds.fewest:
            of = "character" if isinstance(value, str) else "item"
            what = "String should have" if isinstance(value, str) else "Tuple should have"
            told = "" if isinstance(value, str) else f" after validation, not {len(value)}"
            raise ValueError(f"{what} at least {bounds.fewest} {of}{'s' if bounds.fewest > 1 else ''}{told}")
        if pattern and not pattern.fullmatch(value):
            raise ValueError(f"String should match pattern '{bounds.pattern}'")
        if bounds.least is not None and value < bounds.least:
            raise ValueError(f"Input should be greater than or equal to {bounds.least}")
        return value

    return look


def _or_none(read: Reader) -> Reader:
    return lambda value, place: None if value is None else read(value, place)


def _one_of(words: tuple[Any, ...]) -> Reader:
    *most, last = [f"{word!r}" for word in words]
    told = f"Input should be {', '.join(most)}{' or ' if most else ''}{last}"

    def reader(value: Any, place: Place) -> Any:
        if not isinstance(value, str) or value not in words:
            raise Fault(place, told, value)
        return value

    return reader


def _items(parts: tuple[Any, ...]) -> Reader:
    """Of `tuple[X, ...]`, or of a tuple of so many."""
    alike = len(parts) == 2 and parts[1] is Ellipsis
    readers = [_reader(part) for part in parts if part is not Ellipsis]

    def reader(value: Any, place: Place) -> tuple[Any, ...]:
        if not isinstance(value, list | tuple):
            raise Fault(place, "Input should be a valid tuple", value)
        if not alike and len(value) != len(readers):
            raise Fault(place, f"Tuple should have {len(readers)} items, not {len(value)}", value)
        each = readers * len(value) if alike else readers
        return tuple(read(one, (*place, at)) for at, (one, read) in enumerate(zip(value, each, strict=True)))

    return reader


def _mapping(read: Reader) -> Reader:
    def reader(value: Any, place: Place) -> dict[str, Any]:
        if not isinstance(value, Mapping):
            raise Fault(place, "Input should be a valid mapping", value)
        return {key: read(one, (*place, key)) for key, one in value.items()}

    return reader


def _record(kind: type[Record]) -> Reader:
    def reader(value: Any, place: Place) -> Record:
        try:
            return kind.read(value)
        except Fault as fault:
            raise Fault((*place, *fault.place), fault.words, fault.given, fault.kind) from fault

    return reader


def _text(value: Any, place: Place) -> str:
    if not isinstance(value, str):
        raise Fault(place, "Input should be a valid string", value)
    return value


def _truth(value: Any, place: Place) -> bool:
    if isinstance(value, bool):
        return value
    if isinstance(value, int | str) and (word := str(value).lower()) in _TRUE | _FALSE:
        return word in _TRUE
    told = ", unable to interpret input" if isinstance(value, int | str) else ""
    raise Fault(place, f"Input should be a valid boolean{told}", value)


def _whole(value: Any, place: Place) -> int:
    if isinstance(value, str):
        if not re.fullmatch(r"\s*[+-]?\d+\s*", value):
            raise Fault(place, "Input should be a valid integer, unable to parse string as an integer", value)
    elif not isinstance(value, int | Decimal):
        raise Fault(place, "Input should be a valid integer", value)
    elif isinstance(value, Decimal) and (not value.is_finite() or value != int(value)):
        raise Fault(place, "Input should be a valid integer, got a number with a fractional part", value)
    return int(value)


def _decimal(value: Any, place: Place) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise Fault(place, "Decimal input should be an integer, float, string or Decimal object", value)
    try:
        number = Decimal(value)
    except ArithmeticError as error:
        raise Fault(place, "Input should be a valid decimal", value) from error
    if not number.is_finite():
        raise Fault(place, "Input should be a finite number", value)
    return number


def _moment(value: Any, place: Place) -> dt.datetime | dt.date:
    """A day, or a day with the time of it; a text that is written as one counts as the beginning of its day."""
    if isinstance(value, dt.date):
        return value
    if isinstance(value, str) and _MOMENT.fullmatch(value):
        with _told(place, value):
            return dt.datetime.fromisoformat(value.upper().replace("_", "T").replace(",", "."))
    raise Fault(place, "Input should be a valid date or datetime", value)


def _day(value: Any, place: Place) -> dt.date:
    found = _moment(value, place)
    if not isinstance(found, dt.datetime):
        return found
    if found.time() != dt.time():
        raise Fault(place, "Datetimes provided to dates should have zero time - e.g. be exact dates", value)
    return found.date()


_SIMPLE: dict[Any, Reader] = {
    str: _text, bool: _truth, int: _whole, Decimal: _decimal, dt.date: _day, Any: lambda value, _: value,
}  # fmt: skip
