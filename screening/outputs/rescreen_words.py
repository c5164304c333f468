"""The words for a rescreen that the terminal, the workbook and the page share: headline, counts, levels that moved, warnings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from screening.decision.compare import chain_text
from screening.decision.flips import KINDS
from screening.outputs.change_words import levels_text, outcome_text, transcription_mark


def headline(document: Mapping[str, Any]) -> str:
    """What a scheduler's mail would have as its subject."""
    counts = document["counts"]
    flips = sum(counts[kind] for kind in KINDS)
    said = (
        f"{_count(flips, 'outcome')} {'flips' if flips == 1 else 'flip'} at {_count(counts['sites_flipped'], 'site')}"
        if flips
        else "nothing flips"
    )
    left = counts["without_run"] + counts["refused"]
    more = f"; {_count(left, 'site')} not answered" if left else ""
    return f"{_count(counts['sites'], 'site')} rescreened on levels of {document['levels_on']}: {said}{more}"


def summary(document: Mapping[str, Any]) -> list[str]:
    """The counts by kind, the sites whose recommendation moved, the ten-fold levels."""
    counts = document["counts"]
    said = [f"{words}: {counts[kind]}" for kind, words in KINDS.items() if counts[kind]]
    lines = ["; ".join(said)] if said else []
    moved = Counter((one["before"]["status"], one["after"]["status"]) for one in document["sites"])
    lines += [
        f"recommendation {before} to {after} at {_count(number, 'site')}".replace("_", " ")
        for (before, after), number in sorted(moved.items())
        if before != after
    ]
    if counts["levels_moved_tenfold"]:
        lines.append(f"{_count(counts['levels_moved_tenfold'], 'comparison')} against a level that moved ten-fold or more")
    if counts["without_run"] or counts["refused"]:
        lines.append(f"not answered: {counts['without_run']} without a run before, {counts['refused']} refused")
    said = [f"{key} = {value}" for key, value in {**document["conditions"], **document["settings"]}.items()]
    lines.append(
        f"data {'as known on ' + document['data_on'] if document['data_on'] else 'of the runs before'}; conditions and settings "
        f"of the runs before{', but ' + ', '.join(said) if said else ''}"
    )
    return lines


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def why_group(change: Mapping[str, Any]) -> str:
    """What flips of one kind share: the table with its versions, the outcome before, how the levels were read, other causes than the level."""
    versions = list(dict.fromkeys(side["version"] for side in (change["before"], change["after"]) if side))
    said = [f"{change['table']}, {' to '.join(versions)}", f"{outcome_text(change['before'])} before"]
    if mark := transcription_mark(change):
        said.append(f"levels {mark}")
    if change["causes"] != ["level"]:
        said.append(chain_text(change))
    return "; ".join(said)


def moves(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Each level that moved under a comparison: table, analyte, both levels, factor, sites and flips; the strictest move first."""
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    for one in document["sites"]:
        for change in one["changes"]:
            if change["direction"] is None:
                continue
            before, after = change["before"], change["after"]
            key = (
                change["table"], change["analyte"], change["medium"], levels_text(change), before["version"], after["version"]
            )  # fmt: skip
            made = found.setdefault(
                key,
                {
                    "table": change["table"], "before": before["version"], "after": after["version"], "analyte": change["analyte"],
                    "medium": change["medium"], "levels": levels_text(change), "direction": change["direction"], "factor": change["factor"],
                    "tenfold": change["tenfold"], "sites": set(), "comparisons": 0, "flips": 0, "citation": after["citation"],
                    "transcription": transcription_mark(change),
                },
            )  # fmt: skip
            made["sites"].add(one["site"])
            made["comparisons"] += 1
            made["flips"] += change["flip"] is not None
    for made in found.values():
        made["sites"] = len(made["sites"])
    return sorted(found.values(), key=_strictest)


def _strictest(made: Mapping[str, Any]) -> tuple[Any, ...]:
    factor = Decimal(made["factor"] or 0)
    stricter = made["direction"] == "stricter"
    return (
        not stricter,
        made["factor"] is not None,
        -factor if stricter else factor,
        made["table"],
        made["analyte"],
        made["medium"],
    )


def not_answered(document: Mapping[str, Any]) -> list[str]:
    """Sites without a run before, and sites that were refused, with the reason."""
    return [f"{one['site']}: {one['reason']}" for one in (*document["without_run"], *document["refused"])]


def stale_sites(document: Mapping[str, Any]) -> list[str]:
    """Sites whose data or facts were revised since the run before, and what could not be parted."""
    said = [
        f"{one['site']}: {', '.join(one['stale_because'])}; screen it again, or say --data-on for the data"
        for one in document["sites"]
        if one["stale"]
    ]
    return said + [f"{one['site']}: {note}" for one in document["sites"] for note in one["notes"]]


def warnings(document: Mapping[str, Any]) -> list[str]:
    """The warnings of the new runs, each once with the number of its sites."""
    found = Counter(text for one in document["sites"] for text in dict.fromkeys(one["warnings"]))
    return [f"{text} ({_count(number, 'site')})" for text, number in found.items()]
