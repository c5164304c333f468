"""What differs between two runs, and whether data, level, condition or setting made the difference."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from screening.decision.runs import stored

if TYPE_CHECKING:
    import duckdb

Place = tuple[str, str, str, str, str, str, str]


def compare_runs(connection: duckdb.DuckDBPyConnection, before: str, after: str) -> list[dict[str, Any]]:
    """Each outcome that is not the same in both runs, with its cause. Raises `Refused` for an unknown run."""
    first, _, old = stored(connection, before)
    second, _, new = stored(connection, after)
    settled = {
        "condition": dict(first.conditions) != dict(second.conditions) or first.site_sha256 != second.site_sha256,
        "setting": dict(first.settings) != dict(second.settings),
        "review": first.review != second.review,
        "level": [asdict(used) for used in first.levels] != [asdict(used) for used in second.levels],
        "data": first.data != second.data,
    }
    olds, news = _by_place(old), _by_place(new)
    changes = []
    for place in sorted({*olds, *news}):
        one, two = olds.get(place), news.get(place)
        if one is not None and two is not None and _verdict(one) == _verdict(two):
            continue
        changes.append(
            {
                "location": place[0], "sample_id": place[1], "medium": place[4], "analyte": place[5], "table": place[3],
                "before": _side(one), "after": _side(two), "cause": _cause(one, two, settled),
            }
        )  # fmt: skip
    return changes


def _by_place(answer: dict[str, Any]) -> dict[Place, dict[str, Any]]:
    return {
        (
            item["location"], item["sample_id"], item["depth_top"] or "", item["table"], item["medium"], item["analyte"],
            item["fraction"] + "/" + item["sample_kind"],
        ): item
        for item in answer["outcomes"]
    }  # fmt: skip


def _verdict(item: dict[str, Any]) -> tuple[Any, ...]:
    return (item["outcome"], item["value"], item["limit"], item["level"], item["level_unit"])


def _side(item: dict[str, Any] | None) -> dict[str, Any] | None:
    if item is None:
        return None
    return {
        key: item[key] for key in ("outcome", "detected", "value", "limit", "unit", "level", "level_unit", "version", "because")
    }


def _cause(one: dict[str, Any] | None, two: dict[str, Any] | None, settled: dict[str, bool]) -> str:
    if one is None or two is None:
        causes = ("data", "level", "condition", "setting", "review")
        cause = next(cause for cause in causes if settled[cause])
        return "setting" if cause == "review" else cause
    if settled["data"] and (one["detected"], one["value"], one["limit"], one["source"]["deliverable"]) != (
        two["detected"], two["value"], two["limit"], two["source"]["deliverable"],
    ) and (one["value"], one["limit"]) != (two["value"], two["limit"]):  # fmt: skip
        return "data"
    for cause in ("level", "condition", "setting", "review"):
        if settled[cause]:
            return "setting" if cause == "review" else cause  # which edition reviews is a choice of the person who screens
    return "data"
