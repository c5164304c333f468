"""The rooms of the house: a room imports only rooms below it, and no modules import each other in a circle."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "screening"
FLOORS = [
    {"__init__", "errors"}, {"files"}, {"vocabulary"}, {"site", "deliverable"}, {"normal", "levels"}, {"validation"}, {"store"},
    {"quality", "closure"}, {"screen"}, {"decision"}, {"portfolio"}, {"outputs"}, {"cli"}, {"__main__"},
]  # fmt: skip
"""From the bottom. Rooms of one floor do not import each other."""
NOT_BELOW = {("site", "normal"), ("site", "levels"), ("site", "validation"), ("deliverable", "levels")}
"""Pairs (lower room, room above) that the order of the floors would allow and the house does not."""


def _modules() -> dict[str, Path]:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = _modules()


@cache
def _imports(name: str) -> set[str]:
    """The modules of the package that a module imports, wherever in it, also only for its types."""
    tree = ast.parse(MODULES[name].read_text(encoding="utf-8"))
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name}: relative imports hide which room is meant"
            base = node.module or ""
            for alias in node.names:
                found.add(f"{base}.{alias.name}" if f"{base}.{alias.name}" in MODULES else base)
    return {one for one in found if one in MODULES and one != name}


def _room(module: str) -> str:
    return module.split(".")[1] if "." in module else "__init__"


def _floor(room: str) -> int:
    for number, rooms in enumerate(FLOORS):
        if room in rooms:
            return number
    raise AssertionError(f"room '{room}' has no floor; give it one in FLOORS and in the guide for contributors")


def test_no_import_goes_up_or_sideways() -> None:
    wrong = []
    for module in MODULES:
        room = _room(module)
        for imported in sorted(_imports(module)):
            other = _room(imported)
            if other != room and _floor(other) >= _floor(room):
                wrong.append(f"{module} imports {imported}, which lies not below it")
            elif (other, room) in NOT_BELOW:
                wrong.append(f"{module} imports {imported}, which it does not need")
    assert wrong == []


def _circles(modules: set[str]) -> list[str]:
    done: set[str] = set()
    found: list[str] = []

    def walk(module: str, path: tuple[str, ...]) -> None:
        if module in path:
            found.append(" -> ".join([*path[path.index(module) :], module]))
        elif module not in done:
            for imported in sorted(_imports(module) & modules):
                walk(imported, (*path, module))
            done.add(module)

    for module in sorted(modules):
        walk(module, ())
    return found


def test_no_circle_below_the_command_line() -> None:
    assert _circles({module for module in MODULES if _room(module) not in ("cli", "__main__")}) == []


def test_no_circle() -> None:
    assert _circles(set(MODULES)) == []


def test_standards_and_demo_hold_no_code() -> None:
    for folder in ("standards", "demo"):
        assert not list((PACKAGE.parent / folder).rglob("*.py"))
