"""The portfolio at a glance: each site on each version of its tables, before and after, with counts of outcomes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

OUTCOMES = ("exceeds", "open", "no_level", "does_not_exceed")


def portfolio(sites: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """``rows``: one a site and table with the versions and counts of both sides; ``versions``: the sum over the sites of each.

    A version's ``sites`` are those screened on it, ``sites_exceeding`` those of them with an exceedance. Versions used together
    (one by the day of sampling, or two while one phases in) are named together.
    """
    rows = []
    for one in sorted(sites, key=lambda item: item["site"]):
        sides = {side: one[side]["tables"] for side in ("before", "after")}
        for table in sorted({*sides["before"], *sides["after"]}):
            rows.append(
                {
                    "site": one["site"], "site_name": one["site_name"], "table": table,
                    **{side: _cell(sides[side].get(table)) for side in sides},
                    "flips": sum(change["flip"] is not None and change["table"] == table for change in one["changes"]),
                }
            )  # fmt: skip
    return {"rows": rows, "versions": _versions(rows)}


def _cell(held: Mapping[str, Any] | None) -> dict[str, Any] | None:
    return None if held is None else {"version": " + ".join(held["versions"]), **held["counts"]}


def _versions(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    found: dict[tuple[str, str, str], dict[str, Any]] = {}
    for row in rows:
        for order, side in enumerate(("before", "after")):
            cell = row[side]
            if cell is None:
                continue
            one = found.setdefault(
                (row["table"], str(order), cell["version"]),
                {
                    "table": row["table"],
                    "version": cell["version"],
                    "side": side,
                    "sites": 0,
                    "sites_exceeding": 0,
                    "sites_open": 0,
                }
                | dict.fromkeys(OUTCOMES, 0),
            )
            one["sites"] += 1
            one["sites_exceeding"] += bool(cell["exceeds"])
            one["sites_open"] += bool(cell["open"])
            for outcome in OUTCOMES:
                one[outcome] += cell[outcome]
    return [found[key] for key in sorted(found)]
