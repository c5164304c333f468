"""The review in one paragraph that can go into a report, and the names of its checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from screening.quality.shown import counted

CHECKS = {
    "holding_time": "holding times", "temperature": "temperature on receipt", "preservation": "preservation",
    "method_blank": "method blanks", "trip_blank": "trip blanks", "field_blank": "field blanks", "equipment_blank": "equipment blanks",
    "lab_control": "control samples", "matrix_spike": "matrix spikes", "matrix_spike_duplicate": "pairs of matrix spikes",
    "lab_control_duplicate": "pairs of control samples", "surrogate": "surrogates", "percent_solids": "percent solids",
    "field_duplicate": "field duplicates", "lab_duplicate": "laboratory duplicates", "over_range": "calibrated range",
    "limits": "detection and quantitation limits", "adjusted_limits": "limits adjusted for the sample",
    "zero_or_negative": "zeros and negative results", "total_and_dissolved": "total and dissolved amounts",
    "sums": "sums and their parts", "batches": "completeness of batches", "trip_blank_each_day": "a trip blank for each day",
    "custody": "custody records",
}  # fmt: skip
"""The checks in words, in the order in which they are made."""
SEEN = {"read": "read", "read_twice": "read twice", "secondhand": "second-hand", "memory": "recalled"}
"""How a criterion was seen, in a word."""
NONE_HELD = "the deliverables hold no "
_MARKED = {
    "rejected": ("is rejected and takes", "are rejected and take", " no part in a pass"),
    "not_detected_at_limit": ("counts", "count", " as not detected at the limit because of a blank"),
    "biased_low": ("is", "are", " marked as likely too low"),
    "biased_high": ("is", "are", " marked as likely too high"),
    "estimated": ("is", "are", " marked as estimated"),
}


def paragraph(document: Mapping[str, Any]) -> str:
    """What was reviewed, against what, with which effect on use, and what could not be checked."""
    edition, counts = document["edition"], document["counts"]
    results, samples = counted(counts["results"], "result"), counted(counts["samples"], "sample")
    if edition["edition"] is None:
        return f"{results} of {samples} were not reviewed (review = none): whether they can carry a decision is not shown."
    was = "was" if counts["results"] == 1 else "were"
    said = [
        f"{results} of {samples} {was} reviewed against the edition '{edition['edition']}' of {edition['version']} "
        f"({edition['title']}; {edition['status']})."
    ]
    said.append(
        f"Checked: {joined(item['text'] for item in document['checked'])}."
        if document["checked"]
        else "Nothing could be checked."
    )
    said += _effects(document)
    said.append("No result was corrected by a blank.")
    if document["overrides"]:
        names = sorted({item["by"] for item in document["overrides"]})
        count = len(document["overrides"])
        said.append(
            f"{counted(count, 'mark')} {'was' if count == 1 else 'were'} set by {joined(names)}, with the reason; what the checks say by "
            "themselves stays beside it."
        )
    said += _weak(counts) + _unchecked(document)
    return " ".join(said)


def _effects(document: Mapping[str, Any]) -> list[str]:
    """Which marks were set because of which checks, and what that leaves open."""
    counts, said = document["counts"], []
    because: dict[str, list[str]] = {}
    for item in document["findings"]:
        because.setdefault(item["qualifier"], []).append(item["check"])
    for name, (one, many, rest) in _MARKED.items():
        number = counts["marked"].get(name, 0)
        if number:
            checks = joined(words for check, words in CHECKS.items() if check in because.get(name, ()))
            said.append(f"{counted(number, 'result')} {one if number == 1 else many}{rest}{f' ({checks})' if checks else ''}.")
    if not said:
        return ["These checks mark no result."]
    late = counts["late_non_detects"]
    if late:
        said.append(f"{counted(late, 'late non-detect')} {'stays' if late == 1 else 'stay'} open, as being late proves nothing.")
    return said


def _weak(counts: Mapping[str, Any]) -> list[str]:
    """On how many criteria that nobody read in the rule itself the findings rest."""
    weak = {name: counts["by_transcription"].get(name, 0) for name in ("secondhand", "memory")}
    if not any(weak.values()):
        return []
    total = sum(counts["by_transcription"].values())
    known = {"secondhand": "read in another publication", "memory": "recalled and unverified"}
    rest = joined(f"{number} on criteria {known[name]}" for name, number in weak.items() if number)
    many = sum(weak.values()) != 1
    return [
        f"Of the {counted(total, 'finding')} {rest.replace(' on ', ' rest on ' if many else ' rests on ', 1)}: check these before relying on them."
    ]


def _unchecked(document: Mapping[str, Any]) -> list[str]:
    """What could not be checked at all, and what in part only."""
    seen = {item["check"] for item in document["checked"]}
    held: list[str] = []
    other: dict[str, list[str]] = {}
    part: dict[str, list[str]] = {}
    for item in document["not_checkable"]:
        words, text = CHECKS[item["check"]], item["text"].split(": screening ")[0]
        if item["check"] in seen:
            part.setdefault(words, []).append(text)
        elif text.startswith(NONE_HELD):
            held.append(text.removeprefix(NONE_HELD))
        else:
            other.setdefault(words, []).append(text)
    said = []
    if held:
        said.append(f"Not checkable, because the deliverables hold {joined(f'no {text}' for text in dict.fromkeys(held))}.")
    if other:
        said.append(f"Not checkable either: {_listed(other)}.")
    if part:
        said.append(f"Checked in part only: {_listed(part)}.")
    return said


def _listed(reasons: Mapping[str, Sequence[str]]) -> str:
    return "; ".join(f"{words} ({'; '.join(texts)})" for words, texts in reasons.items())


def joined(parts: Iterable[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    words: Sequence[str] = list(parts)
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)
