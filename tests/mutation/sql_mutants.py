"""Small wrong turns in SQL text: a sign moved by one, AND for OR, a condition lost, the arguments of coalesce exchanged."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

_TOKEN = re.compile(
    r"--[^\n]*|'(?:[^']|'')*'|\d+e\d+::DECIMAL\(38, 18\)|\d+(?:\.\d+)?|\$?[A-Za-z_]\w*|<>|<=|>=|\|\||::|[^\s]", re.MULTILINE
)
_SIGNS = {">": (">=", "<="), ">=": (">", "<"), "<": ("<=", ">="), "<=": ("<", ">"), "=": ("<>",), "<>": ("=",)}
_WORDS = {
    "AND": "OR", "OR": "AND", "bool_or": "bool_and", "bool_and": "bool_or", "min": "max", "max": "min", "sum": "max",
    "arg_min": "arg_max", "arg_max": "arg_min", "true": "false", "false": "true", "DESC": "ASC",
    "0": "1", "1": "0", "2": "1", "3": "0", "0.5": "1",
}  # fmt: skip
_LITERALS = {
    "'exceeds'": "'does_not_exceed'", "'does_not_exceed'": "'exceeds'", "'open'": "'does_not_exceed'",
    "'no_level'": "'does_not_exceed'", "'zero'": "'full'", "'half'": "'zero'", "'full'": "'zero'", "'bounds'": "'zero'",
}  # fmt: skip
_ENDS = {
    "AND", "OR", "GROUP", "ORDER", "WHERE", "JOIN", "LEFT", "THEN", "ELSE", "WHEN", "END", "AS", "HAVING", ")", ",", ";",
}  # fmt: skip


_CLAUSES = {"FROM", "WHERE", "GROUP", "ORDER", "HAVING", "UNION", "QUALIFY", "WINDOW", "JOIN", "LEFT"}


@dataclass(frozen=True)
class Change:
    """Text between two places of the whole, what it becomes, the words for it, and the column that it reaches.

    ``column`` is the name of the only column of its SELECT, or the only column SET, that the text stands in; '' where it
    stands in a condition, a join, a grouping or an order.
    """

    start: int
    end: int
    text: str
    told: str
    column: str = ""


@dataclass(frozen=True)
class _Token:
    text: str
    start: int
    end: int


def changes(sql: str) -> Iterator[Change]:
    """Every change, in the order of the text."""
    tokens = [_Token(one[0], one.start(), one.end()) for one in _TOKEN.finditer(sql) if not one[0].startswith("--")]
    for at, token in enumerate(tokens):
        column = ""
        for change in _all(sql, tokens, at, token):
            column = column or _column(tokens, at)
            yield replace(change, column=column)


def _all(sql: str, tokens: Sequence[_Token], at: int, token: _Token) -> Iterator[Change]:
    yield from _signs(tokens, at)
    yield from _words(tokens, at)
    yield from _exchanged(sql, tokens, at)
    yield from _left_out(sql, tokens, at)
    if token.text in _LITERALS:
        yield _instead(token, _LITERALS[token.text])


def _column(tokens: Sequence[_Token], at: int) -> str:
    """The name behind AS of the item of a SELECT that a token stands in, by the innermost SELECT around it."""
    start = _select_before(tokens, at)
    if start is None:
        return ""
    depth, name, inside = 0, "", False
    for place in range(start + 1, len(tokens)):
        text = tokens[place].text
        depth += {"(": 1, "[": 1, ")": -1, "]": -1}.get(text, 0)
        inside = inside or place == at
        if depth < 0:
            return name if inside else ""
        if depth == 0 and text in _CLAUSES:
            return name if inside else ""
        if depth == 0 and text == ",":
            if inside:
                return name
            name = ""
        if depth == 0 and text == "AS":
            name = tokens[place + 1].text
    return name if inside else ""


def _select_before(tokens: Sequence[_Token], at: int) -> int | None:
    """Where the innermost SELECT (not one of a bracket that is closed again) before a token stands."""
    depth = 0
    for place in range(at - 1, -1, -1):
        text = tokens[place].text
        depth += {")": 1, "]": 1, "(": -1, "[": -1}.get(text, 0)
        if text == "SELECT" and depth <= 0:
            return place
        if text == ";" and depth == 0:
            return None
    return None


def _instead(token: _Token, text: str) -> Change:
    return Change(token.start, token.end, text, f"{token.text} to {text}")


def _before(tokens: Sequence[_Token], at: int, back: int = 1) -> str:
    return tokens[at - back].text if at >= back else ""


def _signs(tokens: Sequence[_Token], at: int) -> Iterator[Change]:
    token = tokens[at]
    if (
        token.text == "="
        and _before(tokens, at, 2) in ("SET", ",")
        and "UPDATE" in {one.text for one in tokens[max(0, at - 12) : at]}
    ):
        return  # an assignment
    for sign in _SIGNS.get(token.text, ()):
        yield _instead(token, sign)


def _words(tokens: Sequence[_Token], at: int) -> Iterator[Change]:
    token, before = tokens[at], _before(tokens, at)
    if [_before(tokens, at, back) for back in (3, 2, 1)] == ["EXISTS", "(", "SELECT"]:
        return  # whatever is selected there, it exists or not
    if token.text in _WORDS and before not in (".", "AS", "CREATE") and (token.text[0].isdigit() or _is_call_or_word(tokens, at)):
        yield _instead(token, _WORDS[token.text])
    if token.text == "NOT":
        yield Change(token.start, token.end, "", "NOT left out")
    if token.text == "NULL" and before == "IS":
        yield Change(token.start, token.end, "NOT NULL", "IS NULL to IS NOT NULL")
    if token.text == "LEFT" and tokens[at + 1].text == "JOIN":
        yield Change(token.start, token.end, "", "LEFT JOIN to JOIN")
    if token.text == "DISTINCT" and before == "(":
        yield Change(token.start, token.end, "", "count(DISTINCT) to count")
    if token.text == "FROM" and [_before(tokens, at, back) for back in (3, 2, 1)] == ["IS", "NOT", "DISTINCT"]:
        yield Change(tokens[at - 3].start, token.end, "=", "IS NOT DISTINCT FROM to =")


def _is_call_or_word(tokens: Sequence[_Token], at: int) -> bool:
    return tokens[at].text.isupper() or tokens[at].text in ("true", "false") or tokens[at + 1].text == "("


def _exchanged(sql: str, tokens: Sequence[_Token], at: int) -> Iterator[Change]:
    if tokens[at].text != "coalesce":
        return
    commas, close = _inside(tokens, at + 1)
    if len(commas) == 1:
        left = sql[tokens[at + 2].start : tokens[commas[0] - 1].end]
        right = sql[tokens[commas[0] + 1].start : tokens[close - 1].end]
        yield Change(tokens[at + 2].start, tokens[close - 1].end, f"{right}, {left}", "arguments of coalesce exchanged")


def _inside(tokens: Sequence[_Token], opening: int) -> tuple[list[int], int]:
    """The commas directly inside a bracket, and its closing one."""
    depth, commas = 0, []
    for at in range(opening, len(tokens)):
        depth += {"(": 1, "[": 1, ")": -1, "]": -1}.get(tokens[at].text, 0)
        if depth == 0:
            return commas, at
        if depth == 1 and tokens[at].text == ",":
            commas.append(at)
    raise ValueError("a bracket is not closed")


def _left_out(sql: str, tokens: Sequence[_Token], at: int) -> Iterator[Change]:
    """A condition after AND, OR or WHEN, or one text of a list, is lost."""
    token = tokens[at]
    if token.text in ("AND", "OR") and _before(tokens, at) != "CREATE":
        end = _end_of_term(tokens, at + 1)
        lost = " ".join(sql[tokens[at + 1].start : tokens[end].end].split())
        yield Change(token.start, tokens[end].end, "", f"{token.text} {lost} left out")
    if token.text == "WHEN":
        end = at + 1
        while tokens[end + 1].text != "THEN":
            end += 1
        lost = " ".join(sql[tokens[at + 1].start : tokens[end].end].split())
        yield Change(tokens[at + 1].start, tokens[end].end, "false", f"WHEN {lost} never")
    if token.text.startswith("'") and _before(tokens, at) in ("(", ",") and tokens[at + 1].text in (",", ")"):
        opening = max(place for place in range(at) if tokens[place].text == "(")
        if _before(tokens, opening) == "IN":
            yield Change(token.start, token.end, "'nothing'", f"{token.text} left out of the list")


def _end_of_term(tokens: Sequence[_Token], start: int) -> int:
    at = start
    while at + 1 < len(tokens):
        if tokens[at].text in ("(", "["):
            at = _inside(tokens, at)[1]
        if at + 1 == len(tokens) or tokens[at + 1].text in _ENDS:
            break
        at += 1
    return at
