"""The review in one paragraph that can go into a report."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from screening.quality.shown import counted

_MARKED = {
    "rejected": "rejected",
    "not_detected_at_limit": "counted as not detected at their limit because of a blank",
    "biased_low": "likely too low",
    "biased_high": "likely too high",
    "estimated": "estimated",
}


def paragraph(document: Mapping[str, Any]) -> str:
    """What was reviewed, against what, with which effect on use, and what could not be checked."""
    edition, counts = document["edition"], document["counts"]
    results, samples = counted(counts["results"], "result"), counted(counts["samples"], "sample")
    if edition["edition"] is None:
        return f"{results} of {samples} were not reviewed (review = none): whether they can carry a decision is not shown."
    said = [
        f"{results} of {samples} were reviewed against '{edition['title']}' (edition {edition['edition']}, version "
        f"{edition['version']}; {edition['status']})."
    ]
    said.append(
        f"Checked: {_joined(item['text'] for item in document['checked'])}."
        if document["checked"]
        else "Nothing could be checked."
    )
    marked = [f"{counts['marked'][name]} {words}" for name, words in _MARKED.items() if counts["marked"].get(name)]
    late = counts["late_non_detects"]
    said.append(f"Marked: {_joined(marked)}." if marked else "No result is marked by these checks.")
    if late:
        said.append(f"{counted(late, 'late non-detect')} stay{'s' if late == 1 else ''} open: a late non-detect proves nothing.")
    said.append("No result was corrected by a blank.")
    if document["overrides"]:
        names = sorted({item["by"] for item in document["overrides"]})
        said.append(
            f"{counted(len(document['overrides']), 'mark')} set by {_joined(names)}, with the reason; the automatic mark stays visible."
        )
    weak = {name: counts["by_transcription"].get(name, 0) for name in ("secondhand", "memory")}
    if any(weak.values()):
        said.append(
            f"Of the findings {weak['secondhand']} rest on criteria read in another publication and {weak['memory']} on recalled, "
            "unverified ones."
        )
    if document["not_checkable"]:
        said.append(
            "Not checkable: "
            + "; ".join(f"{item['check'].replace('_', ' ')} ({item['text']})" for item in document["not_checkable"])
            + "."
        )
    return " ".join(said)


def _joined(parts: Any) -> str:
    return ", ".join(parts)
