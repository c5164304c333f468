"""The code under mutation, its mutants, and how one is put into the running program; no file is ever changed."""

from __future__ import annotations

import ast
import importlib
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from pathlib import Path
from types import FunctionType
from typing import Any

import python_mutants
import sql_mutants

ROOT = Path(__file__).resolve().parents[2]
COMPARE = "screening/screen/compare.sql"
WHOLE: tuple[str, ...] = ()
FILES: Mapping[str, tuple[str, ...]] = {
    COMPARE: WHOLE,
    **{
        f"screening/screen/{name}.py": WHOLE
        for name in (
            "measure", "outcomes", "ranges", "equivalents", "several", "states", "presence", "register", "because", "duplicates",
        )
    },
    **{f"screening/levels/{name}.py": WHOLE for name in ("bars", "choose", "phase_in", "shares", "figures")},
    "screening/levels/facts.py": ("Range", "_condition", "_range", "_in_unit"),
    "screening/quality/chosen.py": ("ORDERS", "CHOSEN", "rank"),
    "screening/quality/dry.py": WHOLE,
    "screening/decision/recommend.py": WHOLE,
}  # fmt: skip
"""The code whose mutants are tried: whole files, or the functions, classes and constants named."""

ONLY_WORDS: Mapping[str, tuple[str, ...]] = {
    "screening/screen/because.py": ("because", "_without_level", "_comparison", "_nondetects", "_rounded", "_percent"),
    "screening/screen/outcomes.py": ("ratio_text", "_beside", "_bare", "_amounts"),
    "screening/screen/duplicates.py": ("_told", "_difference", "_shown"),
    "screening/screen/states.py": ("_percent",),
    "screening/levels/choose.py": ("_governs", "_words"),
    "screening/decision/recommend.py": ("_sheet", "_exceedance", "_open", "_notes"),
}
"""Functions that make nothing but texts for people, of outcomes that stand when they are called. `test_mutators` proves it:
with each of them talking nonsense the tests' screens keep every verdict."""

WORD_COLUMNS = frozenset({"told", "reasons", "review", "review_reasons"})
"""Columns of queries that hold nothing but texts for people; proved likewise."""


@dataclass(frozen=True)
class Mutant:
    """One wrong turn. A mutant is known by its file, the text of its line, the words, and how manieth of its like it is.

    ``only_words``: it can reach nothing but a text for people.
    """

    file: str
    text: str
    told: str
    nth: int
    line: int
    only_words: bool
    insert: Callable[[], None]

    @property
    def key(self) -> tuple[str, str, str, int]:
        """What it is known by when lines have moved."""
        return (self.file, self.text, self.told, self.nth)


def mutants(files: Iterable[str] = FILES) -> Iterator[Mutant]:
    """Every mutant of the files, in a fixed order."""
    for file in files:
        source = (ROOT / file).read_text(encoding="utf-8")
        lines, seen = source.splitlines(), Counter[tuple[str, str]]()
        for line, told, only_words, insert in _of(file, source):
            text = lines[line - 1].strip()
            seen[text, told] += 1
            yield Mutant(file, text, told, seen[text, told], line, only_words, insert)


def _of(file: str, source: str) -> Iterator[tuple[int, str, bool, Callable[[], None]]]:
    if file.endswith(".sql"):
        for change in sql_mutants.changes(source):
            text = source[: change.start] + change.text + source[change.end :]
            line = source[: change.start].count("\n") + 1
            yield line, change.told, change.column in WORD_COLUMNS, partial(read_instead, file, text)
    else:
        name = file.removesuffix(".py").replace("/", ".")
        for wrong in python_mutants.wrongs(source):
            if not FILES[file] or wrong.within.partition(".")[0] in FILES[file]:
                only_words = wrong.within in ONLY_WORDS.get(file, ()) or wrong.column in WORD_COLUMNS
                yield wrong.line, wrong.told, only_words, partial(_take_tree, name, wrong.tree)


def read_instead(file: str, text: str) -> None:
    """From now on the file reads as the text, in this process only."""
    real = Path.read_text

    def read(path: Path, *words: Any, **more: Any) -> str:
        return text if path == ROOT / file else real(path, *words, **more)

    Path.read_text = read  # type: ignore[method-assign]


def _take_tree(name: str, tree: Callable[[], ast.Module]) -> None:
    take(name, tree())


def take(name: str, tree: ast.Module) -> None:
    """Put the code of the tree into the module where it stands, so that whoever imported from it runs the new code."""
    module = importlib.import_module(name)
    fresh: dict[str, Any] = {"__name__": name, "__file__": module.__file__}
    exec(compile(tree, str(module.__file__), "exec"), fresh)
    _take_all(vars(module), fresh, name)


def _take_all(old: dict[str, Any], new: Mapping[str, Any], module: str) -> None:
    for key, value in new.items():
        if isinstance(value, FunctionType) and value.__module__ == module:
            _take_code(old[key], value)
        elif isinstance(value, type) and value.__module__ == module:
            _take_class(old[key], value)
        elif isinstance(value, str | int | Decimal | dict | tuple | frozenset | re.Pattern) and not key.startswith("__"):
            _replace(key, old[key], value)
            old[key] = value


def _replace(name: str, before: Any, after: Any) -> None:
    """Where a module has imported a constant, it has the new one as well."""
    for module in list(sys.modules.values()):
        if getattr(module, "__name__", "").startswith("screening.") and vars(module).get(name) is before:
            setattr(module, name, after)


def _take_class(old: type, new: type) -> None:
    for key, value in vars(new).items():
        before = vars(old).get(key)
        if isinstance(value, FunctionType) and isinstance(before, FunctionType):
            _take_code(before, value)
        elif isinstance(value, property) and value.fget and isinstance(before, property) and before.fget:
            assert isinstance(value.fget, FunctionType) and isinstance(before.fget, FunctionType)
            _take_code(before.fget, value.fget)


def _take_code(old: FunctionType, new: FunctionType) -> None:
    if old.__closure__ is None:
        old.__code__ = new.__code__
    old.__defaults__, old.__kwdefaults__ = new.__defaults__, new.__kwdefaults__
