"""No binary float where a value meets a level: neither in the code nor in the SQL."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "screening"
ROOMS = ("normal", "levels", "store", "quality", "screen", "decision", "portfolio")
ESTIMATES = PACKAGE / "closure" / "geometry.py"
"""Volumes of fill and residue, which decide nothing."""
STATISTICS = PACKAGE / "screen" / "statistics"
"""Statistics are made of floats; there the rules that count samples in exact fractions are looked at alone."""
CLOSURE = [path for path in sorted((PACKAGE / "closure").rglob("*.py")) if path != ESTIMATES]
CODE = [
    PACKAGE / "vocabulary" / "units.py",
    STATISTICS / "shares.py",
    *CLOSURE,
    *(path for room in ROOMS for path in sorted((PACKAGE / room).rglob("*.py")) if STATISTICS not in path.parents),
]
FLOATING = {"float", "float32", "float64", "to_numeric"}
SQL_FLOAT = re.compile(r"\b(DOUBLE|REAL|FLOAT4|FLOAT8|FLOAT|HUGEINT)\b|(?<![/*])/(?![/*])", re.IGNORECASE)


@cache
def _parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _floats(path: Path) -> list[str]:
    """Floats in a module, but for the likeness of two names below which none is proposed."""
    found = []
    tree = _parsed(path)
    likeness = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.keyword) and "cutoff" in str(node.arg)}
    for node in ast.walk(tree):
        where = f"{path.relative_to(PACKAGE)}:{getattr(node, 'lineno', 0)}"
        if isinstance(node, ast.Constant) and isinstance(node.value, float) and id(node) not in likeness:
            found.append(f"{where} the number {node.value}")
        elif isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            if name in FLOATING:
                found.append(f"{where} {name}()")
            elif name == "Decimal" and any(isinstance(one, ast.Constant) and isinstance(one.value, float) for one in node.args):
                found.append(f"{where} Decimal of a float")
    return found


def test_no_float_decides() -> None:
    assert len(CODE) > 20
    assert [found for path in CODE for found in _floats(path)] == []


def _statements() -> list[tuple[str, str]]:
    """SQL files, and the texts in the code that are SQL."""
    found = [(str(path.relative_to(PACKAGE)), path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.sql"))]
    for path in CODE:
        for node in ast.walk(_parsed(path)):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                if re.search(r"\b(SELECT|INSERT INTO|CREATE (OR REPLACE )?(TEMP )?TABLE)\b", node.value):
                    found.append((f"{path.relative_to(PACKAGE)}:{node.lineno}", node.value))
    return found


def test_no_sql_leaves_decimals() -> None:
    """DuckDB's division gives a double, so there is none."""
    statements = _statements()
    assert len(statements) > 20
    found = [(place, SQL_FLOAT.findall(re.sub(r"--.*|'[^']*'", "", text))) for place, text in statements]
    assert [one for one in found if one[1]] == []
