"""Amounts and counts as a finding shows them."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal


def plain(amount: Decimal) -> str:
    """Without trailing zeros and without an exponent."""
    text = f"{amount:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def figures(amount: Decimal, count: int = 3) -> str:
    """A quotient to a few figures."""
    if not amount:
        return "0"
    return plain(amount.quantize(Decimal(1).scaleb(min(0, amount.adjusted() - count + 1)), ROUND_HALF_UP))


def counted(count: int, word: str, words: str = "") -> str:
    """'1 sample', '2 samples'; ``words`` is a plural of its own ('1 recovery', '2 recoveries')."""
    return f"{count} {word if count == 1 else words or f'{word}s'}"


def beside(amount: Decimal, bound: Decimal, count: int = 3) -> str:
    """A quotient to a few figures, more where fewer would show it at or beyond the bound that it does not keep."""
    while count < 20:
        shown = figures(amount, count)
        if (Decimal(shown) > bound, Decimal(shown) == bound) == (amount > bound, amount == bound):
            return shown
        count += 1
    return figures(amount, count)


def marked_results(count: int) -> str:
    """How many results a quality-control row marks: 'no result marked', '2 results marked'."""
    return f"{counted(count, 'result') if count else 'no result'} marked"
