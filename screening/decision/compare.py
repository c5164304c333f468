"""What differs between two runs, and what made each difference: the chain of causes from one to the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from screening.decision.chain import Step, steps
from screening.decision.differences import CAUSE_WORDS, CAUSES, Run, differs, read_run, told
from screening.decision.flips import flips, level_move
from screening.decision.standing import Today
from screening.errors import Refused

if TYPE_CHECKING:
    import duckdb

Place = tuple[str, ...]
SHOWN = (
    "outcome", "detected", "value", "limit", "unit", "level", "level_unit", "level_normal", "ratio", "version", "conditions", "because",
    "citation", "transcription",
)  # fmt: skip
"""What each side of a change carries."""


def compare_runs(connection: duckdb.DuckDBPyConnection, before: str, after: str, today: Today) -> dict[str, Any]:
    """The document of `compare`. Raises `Refused` for an unknown run and for runs of two sites, `Altered` where a text that a run used is gone."""
    first, second = read_run(connection, before), read_run(connection, after)
    if first.request.site != second.request.site:
        sites = f"'{first.request.site}' and '{second.request.site}'"
        raise Refused(f"runs {before} and {after} are of the sites {sites}; compare two runs of one site")
    path, notes = steps(connection, first, second)
    made = changes(path)
    return {
        "before": _run_document(first, today), "after": _run_document(second, today),
        "differs_in": [
            {"cause": cause, "text": told(connection, first, second, cause)} for cause in CAUSES if differs(first, second, cause)
        ],
        "recommendation": _recommendation(path),
        "changes": made,
        "counts": dict(Counter(one["cause"] for one in made)),
        "chains": [
            {"causes": list(causes), "changes": count}
            for causes, count in sorted(Counter(tuple(one["causes"]) for one in made).items(), key=lambda item: (-item[1], item[0]))
        ],
        "notes": notes,
    }  # fmt: skip


def changes(path: Sequence[Step]) -> list[dict[str, Any]]:
    """Each outcome that is not the same at both ends of a path, in order of place, with the chain that led there.

    ``cause`` is where the outcome became what it is (where it is what it was: where its value or level last changed).
    """
    several = {place for step in path for place in _of_several_days(step.answer)}
    at = [_by_place(step.answer, several) for step in path]
    made = []
    for place in sorted({*at[0], *at[-1]}):
        sides = [one.get(place) for one in at]
        if _verdict(sides[0]) == _verdict(sides[-1]):
            continue
        moved = [number for number in range(1, len(path)) if _verdict(sides[number - 1]) != _verdict(sides[number])]
        turned = [number for number in moved if _outcome(sides[number - 1]) != _outcome(sides[number])]
        same = _outcome(sides[0]) == _outcome(sides[-1])
        decisive = path[moved[-1] if same or not turned else turned[-1]]
        old, new = _side(sides[0]), _side(sides[-1])
        kinds = flips(old, new)
        made.append(
            {
                "location": place[0], "sample_id": place[1], "depth_top": place[2] or None, "depth_bottom": place[3] or None,
                "table": place[4], "medium": place[5], "analyte": place[6], "fraction": place[7], "sample_kind": place[8],
                "before": old, "after": new, "cause": decisive.causes[0],
                "causes": list(dict.fromkeys(cause for number in moved for cause in path[number].causes)),
                "chain": [
                    {"causes": list(path[number].causes), "before": _short(sides[number - 1]), "after": _short(sides[number])}
                    for number in moved
                ],
                "flip": kinds[0] if kinds else None, "also": list(kinds[1:]), **level_move(old, new),
            }
        )  # fmt: skip
    return made


def _place(item: Mapping[str, Any]) -> Place:
    return (
        item["location"], item["sample_id"], item["depth_top"] or "", item.get("depth_bottom") or "", item["table"],
        item["medium"], item["analyte"], item["fraction"], item["sample_kind"], item.get("depth_unit") or "",
    )  # fmt: skip


def _of_several_days(answer: Mapping[str, Any]) -> list[Place]:
    """Places whose outcomes only the day of sampling tells apart."""
    return [place for place, times in Counter(_place(item) for item in answer["outcomes"]).items() if times > 1]


def _by_place(answer: Mapping[str, Any], several: Collection[Place]) -> dict[Place, dict[str, Any]]:
    found = {}
    for item in answer["outcomes"]:
        place = _place(item)
        found[(*place, str(item.get("sampled_at") or "")[:10] if place in several else "")] = item
    return found


def _verdict(item: Mapping[str, Any] | None) -> tuple[Any, ...] | None:
    return None if item is None else (item["outcome"], item["value"], item["limit"], item["level"], item["level_unit"])


def _outcome(item: Mapping[str, Any] | None) -> str | None:
    return None if item is None else str(item["outcome"])


def _side(item: Mapping[str, Any] | None) -> dict[str, Any] | None:
    return None if item is None else {key: item.get(key) for key in SHOWN}


def _short(item: Mapping[str, Any] | None) -> dict[str, Any] | None:
    return (
        None
        if item is None
        else {key: item[key] for key in ("outcome", "value", "limit", "unit", "level", "level_unit", "version")}
    )


def _run_document(run: Run, today: Today) -> dict[str, Any]:
    advice = run.answer["recommendation"]
    return {
        "run": run.request.run_id, "site": run.request.site, "counts": run.answer["counts"], "status": advice["status"],
        "software": run.software, **today.standing(run.request).document,
    }  # fmt: skip


def _recommendation(path: Sequence[Step]) -> dict[str, Any]:
    said = [step.answer["recommendation"]["status"] for step in path]
    moved = [number for number in range(1, len(path)) if said[number - 1] != said[number]] if said[0] != said[-1] else []
    return {
        "before": said[0], "after": said[-1],
        "chain": [{"causes": list(path[number].causes), "before": said[number - 1], "after": said[number]} for number in moved],
    }  # fmt: skip


def chain_text(change: Mapping[str, Any]) -> str:
    """The causes of a change in words, in their order."""
    return ", then ".join(" with ".join(CAUSE_WORDS[cause] for cause in step["causes"]) for step in change["chain"])
