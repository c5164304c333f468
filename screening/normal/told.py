"""Many names told in few words."""

from __future__ import annotations

from collections.abc import Iterable

NAMED = 5


def listed(items: Iterable[str]) -> str:
    """The first few of several names, the others counted."""
    names = list(dict.fromkeys(items))
    rest = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {rest} more" if rest > 0 else "")
