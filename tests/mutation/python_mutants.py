"""Small wrong turns in Python: a sign moved by one, `and` for `or`, branches exchanged, a step left out; and those of the SQL in
its texts."""

from __future__ import annotations

import ast
import copy
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import sql_mutants

_COMPARE: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,), ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
_RECKON: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
}  # fmt: skip
_SIGNS = {
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!=", ast.Is: "is", ast.IsNot: "is not",
    ast.In: "in", ast.NotIn: "not in", ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/",
}  # fmt: skip
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any"}
_STATES = {
    "detected": "not_detected", "not_detected": "detected", "unknown": "not_detected", "outside": "unknown",
    "depth_top": "depth_bottom", "depth_bottom": "depth_top", "at_or_above": "above", "unavailable": "number",
    "strictest": "open", "open": "strictest", "m": "ft",
}  # fmt: skip


@dataclass(frozen=True)
class Wrong:
    """One wrong turn: line (from 1), words, the function or constant that it stands in ('' for none), and the whole module with it.

    ``column`` is the column of a query that the change reaches, see `sql_mutants`.
    """

    line: int
    told: str
    within: str
    column: str
    tree: Callable[[], ast.Module]


def wrongs(source: str) -> Iterator[Wrong]:
    """Every wrong turn of a module, in the order of the walk through its tree."""
    tree = ast.parse(source)
    passed, owners = _passed_over(tree), _owners(tree)
    for place, node in enumerate(ast.walk(tree)):
        if id(node) in passed:
            continue
        for line, told, column, change in _changes(node):
            yield Wrong(line, told, owners.get(id(node), ""), column, _grown(tree, place, change))


def _owners(tree: ast.Module) -> dict[int, str]:
    """The name of the top-level function, class or constant that each node stands in; 'Class.method' within a class."""
    found: dict[int, str] = {}

    def own(node: ast.AST, name: str) -> None:
        for one in ast.walk(node):
            found[id(one)] = name

    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            own(node, node.name)
        elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            own(node, node.targets[0].id)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            own(node, node.target.id)
        for method in node.body if isinstance(node, ast.ClassDef) else []:
            if isinstance(method, ast.FunctionDef):
                own(method, f"{node.name}.{method.name}" if isinstance(node, ast.ClassDef) else method.name)
    return found


_Change = Callable[[ast.AST], None]


def _grown(tree: ast.Module, place: int, change: _Change) -> Callable[[], ast.Module]:
    def grow() -> ast.Module:
        grown = copy.deepcopy(tree)
        for at, node in enumerate(ast.walk(grown)):
            if at == place:
                change(node)
                break
        return ast.fix_missing_locations(grown)

    return grow


def _passed_over(tree: ast.Module) -> set[int]:
    """Types, imports, texts that only explain, and what an assertion tells the type checker."""
    found: set[int] = set()

    def leave(node: ast.AST | None) -> None:
        if node is not None:
            found.update(id(one) for one in ast.walk(node))

    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Assert | ast.Import | ast.ImportFrom)
            or (isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING")
            or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant))
        ):
            leave(node)
        elif isinstance(node, ast.AnnAssign | ast.arg):
            leave(node.annotation)
        elif isinstance(node, ast.FunctionDef):
            leave(node.returns)
            for decorator in node.decorator_list:
                leave(decorator)
        elif isinstance(node, ast.ClassDef):
            for decorator in node.decorator_list:
                leave(decorator)
        elif (
            isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id in ("Literal", "Callable")
        ) or isinstance(node, ast.Raise):
            leave(node)
    return found


_Told = tuple[int, str, str, _Change]


def _changes(node: ast.AST) -> Iterator[_Told]:
    if isinstance(node, ast.Constant):
        yield from _constants(node)
    else:
        for line, told, change in _turns(node):
            yield line, told, "", change


def _turns(node: ast.AST) -> Iterator[tuple[int, str, _Change]]:
    line = getattr(node, "lineno", 0)
    if isinstance(node, ast.Compare):
        for at, sign in enumerate(node.ops):
            for other in _COMPARE[type(sign)]:
                yield line, f"{_SIGNS[type(sign)]} to {_SIGNS[other]} after {_text(node, at)}", _set_item("ops", at, other)
    elif isinstance(node, ast.BoolOp):
        other_way = ast.Or if isinstance(node.op, ast.And) else ast.And
        yield line, f"{'and to or' if other_way is ast.Or else 'or to and'} in {_short(node)}", _set("op", other_way)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield line, f"not left out before {_short(node.operand)}", _double
    elif isinstance(node, ast.BinOp) and type(node.op) in _RECKON and not _is_text(node):
        yield (
            line,
            f"{_SIGNS[type(node.op)]} to {_SIGNS[_RECKON[type(node.op)]]} in {_short(node)}",
            _set("op", _RECKON[type(node.op)]),
        )
    elif isinstance(node, ast.IfExp):
        yield node.test.lineno, f"branches exchanged by {_short(node.test)}", _exchange
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _CALLS:
        yield line, f"{node.func.id} to {_CALLS[node.func.id]} of {_short(node.args[0])}", _call(_CALLS[node.func.id])
    elif isinstance(node, ast.For | ast.While | ast.If | ast.FunctionDef | ast.With | ast.Module):
        for name in ("body", "orelse"):
            for at, step in enumerate(getattr(node, name, [])):
                if isinstance(step, ast.AugAssign | ast.Continue) or (
                    isinstance(step, ast.Expr) and isinstance(step.value, ast.Call)
                ):
                    yield step.lineno, f"left out: {_short(step)}", _leave_out(name, at)
    if isinstance(node, ast.If):
        yield line, f"if {_short(node.test)} turned round", _turn


_NUMBER = re.compile(r"\d+(\.\d+)?")


def _constants(node: ast.Constant) -> Iterator[_Told]:
    value = node.value
    if isinstance(value, bool):
        yield node.lineno, f"{value} to {not value}", "", _set("value", lambda: not value)
    elif isinstance(value, int):
        other = {0: 1, 1: 0}.get(value, value + 1)
        yield node.lineno, f"{value} to {other}", "", _set("value", lambda: other)
    elif isinstance(value, str) and _is_sql(value):
        first = node.lineno
        for change in sql_mutants.changes(value):
            text = value[: change.start] + change.text + value[change.end :]
            line = first + value[: change.start].count("\n")
            yield line, f"SQL: {change.told}", change.column, _set("value", lambda text=text: text)
    elif isinstance(value, str) and value in _STATES:
        yield node.lineno, f"'{value}' to '{_STATES[value]}'", "", _set("value", lambda: _STATES[value])
    elif isinstance(value, str) and _NUMBER.fullmatch(value):
        yield node.lineno, f"'{value}' doubled", "", _set("value", lambda: f"{2 * Decimal(value) + Decimal(value == '0')}")


def _is_sql(text: str) -> bool:
    return any(word in text for word in ("SELECT ", " FROM ", " = s.", "NULLS LAST"))


def _set(name: str, make: Callable[[], object]) -> _Change:
    return lambda node: setattr(node, name, make())


def _leave_out(name: str, at: int) -> _Change:
    return lambda node: getattr(node, name).__setitem__(at, ast.Pass())


def _double(node: ast.AST) -> None:
    assert isinstance(node, ast.UnaryOp)
    node.operand = ast.UnaryOp(ast.Not(), node.operand)


def _set_item(name: str, at: int, make: Callable[[], object]) -> _Change:
    return lambda node: getattr(node, name).__setitem__(at, make())


def _call(name: str) -> _Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
        node.func.id = name

    return change


def _exchange(node: ast.AST) -> None:
    assert isinstance(node, ast.IfExp)
    node.body, node.orelse = node.orelse, node.body


def _turn(node: ast.AST) -> None:
    assert isinstance(node, ast.If)
    node.test = ast.UnaryOp(ast.Not(), node.test)


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in (node.left, node.right)
    )


def _short(node: ast.AST) -> str:
    return ast.unparse(node).replace("\n", " ")[:60]


def _text(node: ast.Compare, at: int) -> str:
    return _short(node.left if at == 0 else node.comparators[at - 1])
