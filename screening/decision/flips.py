"""What a changed outcome means: its kind of flip, how far its level moved, and which flip is worse."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from screening.levels.compare import stricter_or_looser

KINDS: Mapping[str, str] = {
    "newly_exceeds": "newly exceeds",
    "newly_open": "newly open",
    "no_longer_exceeds": "no longer exceeds",
    "level_vanished": "level vanished",
    "newly_decided": "newly decided",
    "level_appeared": "level appeared",
    "comparison_vanished": "no longer compared",
    "comparison_appeared": "not compared before",
}
"""Kinds of flips in words, the worst first. The last two come from other data or other tables, never from a newer version."""

Side = Mapping[str, Any]


def flips(before: Side | None, after: Side | None) -> tuple[str, ...]:
    """The kinds of a changed outcome, the worst first; () where only the value or the level is another.

    ``before`` and ``after`` have ``outcome`` and ``level``; None stands for a comparison that is not made on that side.
    """
    one, two = (side["outcome"] if side else None for side in (before, after))
    if one == two:
        return ()
    had, has = (outcome not in (None, "no_level") for outcome in (one, two))
    found = {
        "newly_exceeds": two == "exceeds",
        "newly_open": two == "open",
        "no_longer_exceeds": one == "exceeds",
        "level_vanished": had and one is not None and two == "no_level",
        "newly_decided": one == "open" and two in ("exceeds", "does_not_exceed"),
        "level_appeared": one == "no_level" and has,
        "comparison_vanished": two is None,
        "comparison_appeared": one is None,
    }
    return tuple(kind for kind in KINDS if found[kind])


def level_move(before: Side | None, after: Side | None) -> dict[str, Any]:
    """Which way the level moved: ``direction`` (stricter, looser or None), ``factor`` to three figures, ``tenfold`` exactly."""
    old, new = (None if side is None else side["level_normal"] for side in (before, after))
    if old is None or new is None or Decimal(old) == Decimal(new):
        return {"direction": None, "factor": None, "tenfold": False}
    direction, factor, tenfold = stricter_or_looser(Decimal(old), Decimal(new))
    return {"direction": direction, "factor": factor, "tenfold": tenfold}


def badness(change: Mapping[str, Any]) -> tuple[Any, ...]:
    """A key that puts the worst change first: by kind, then by how far above its level, then by how much stricter it became."""
    kinds = list(KINDS)
    after = change["after"] or {}
    ratio = Decimal(after["ratio"]) if after.get("ratio") else Decimal(0)
    factor = Decimal(change["factor"] or 0)
    return (
        kinds.index(change["flip"]) if change["flip"] else len(kinds),
        -ratio if change["flip"] else Decimal(0),
        -factor if change["direction"] == "stricter" else factor,
        change["location"], change["sample_id"], change["analyte"], change["medium"], change["table"],
    )  # fmt: skip
