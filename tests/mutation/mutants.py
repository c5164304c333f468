"""The code under mutation, its mutants, and how one is put into the running program; no file is ever changed."""

from __future__ import annotations

import ast
import importlib
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
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
FILES = (
    COMPARE,
    *(
        f"screening/screen/{name}.py"
        for name in ("states", "ranges", "several", "equivalents", "measure", "register", "presence")
    ),
    *(f"screening/levels/{name}.py" for name in ("bars", "choose", "phase_in", "figures")),
)


@dataclass(frozen=True)
class Mutant:
    """One wrong turn. A mutant is known by its file, the text of its line, the words, and how manieth of its like it is."""

    file: str
    text: str
    told: str
    nth: int
    line: int
    insert: Callable[[], None]

    @property
    def key(self) -> tuple[str, str, str, int]:
        """What it is known by when lines have moved."""
        return (self.file, self.text, self.told, self.nth)


def mutants(files: tuple[str, ...] = FILES) -> Iterator[Mutant]:
    """Every mutant of the files, in a fixed order."""
    for file in files:
        source = (ROOT / file).read_text(encoding="utf-8")
        lines, seen = source.splitlines(), Counter[tuple[str, str]]()
        for line, told, insert in _of(file, source):
            text = lines[line - 1].strip()
            seen[text, told] += 1
            yield Mutant(file, text, told, seen[text, told], line, insert)


def _of(file: str, source: str) -> Iterator[tuple[int, str, Callable[[], None]]]:
    if file.endswith(".sql"):
        for change in sql_mutants.changes(source):
            text = source[: change.start] + change.text + source[change.end :]
            yield source[: change.start].count("\n") + 1, change.told, partial(read_instead, file, text)
    else:
        name = file.removesuffix(".py").replace("/", ".")
        for wrong in python_mutants.wrongs(source):
            yield wrong.line, wrong.told, partial(_take_tree, name, wrong.tree)


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
        elif isinstance(value, str | int | Decimal | dict | tuple | re.Pattern) and not key.startswith("__"):
            old[key] = value


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
