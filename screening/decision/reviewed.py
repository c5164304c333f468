"""What a screen says of the review behind it: its edition, the marks, what could not be checked, the biased values."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from screening.decision.words import amount_text, place_text
from screening.quality.editions import Edition
from screening.quality.review import Review
from screening.screen.outcomes import Outcome


def near_times(edition: Edition | None) -> Decimal | None:
    """How many times above or below the level a biased value is named; None without an edition."""
    return edition.rule("near_level_times").needed() if edition is not None else None


def review_document(found: Review) -> dict[str, Any]:
    """The review in short: which edition, how many results are marked, what was checked and what could not be."""
    edition = found.edition
    marked = Counter(mark.qualifier for mark in found.marks.values() if mark.qualifier)
    return {
        "edition": edition.name if edition else None,
        "version": edition.version.isoformat() if edition else None,
        "citation": edition.citation if edition else "",
        "status": edition.status if edition else "no quality review was made",
        "sha256": edition.sha256 if edition else None,
        "marked": dict(sorted(marked.items())),
        "late_non_detects": sum(mark.late for mark in found.marks.values()),
        "overrides": len(found.overrides),
        "checked": [f"{check.check.replace('_', ' ')}: {check.looked_at}" for check in found.checks if check.looked_at],
        "not_checkable": [f"{check.check.replace('_', ' ')}: {words}" for check in found.checks for words in check.not_checkable],
    }


def review_assumption(found: Review) -> list[str]:
    """One line on the review behind the screen; none where there was none."""
    edition = found.edition
    if edition is None:
        return []
    marked = sum(bool(mark.qualifier) for mark in found.marks.values())
    bare = sorted({check.check.replace("_", " ") for check in found.checks if not check.looked_at})
    return [
        f"results reviewed against edition {edition.name} of {edition.version}: {marked} marked; not checkable for want of data: "
        f"{', '.join(bare) or 'none'}; 'screening review' tells each finding"
    ]


def review_warnings(found: Review) -> list[str]:
    """What a reader must know of the review before relying on the screen."""
    if found.edition is None:
        return ["no quality review was made (review = none): whether the results can carry a decision is not shown"]
    weak = Counter(one.basis.transcription for one in found.findings if one.rows)
    said = []
    for status, words in (("secondhand", "read in another publication"), ("memory", "recalled and unverified")):
        if weak[status]:
            one = weak[status] == 1
            said.append(
                f"quality review: {weak[status]} mark{' rests' if one else 's rest'} on criteria {words}; check "
                f"{'it' if one else 'them'} before relying on {'it' if one else 'them'}"
            )
    return said


def review_notes(outcomes: Sequence[Outcome], near: Decimal | None) -> list[str]:
    """Exceedances that may be too high, and passes near the level that may be too low, each by name."""
    said = []
    for item in outcomes:
        if near is None or item.ratio is None or not item.detected:
            continue
        qualifiers, ratio = item.review_qualifiers.split(), Decimal(item.ratio)
        told = f"{item.analyte} {amount_text(vars(item))} in {item.medium.replace('_', ' ')} at {place_text(vars(item))}"
        if item.outcome == "exceeds" and "biased_high" in qualifiers:
            said.append(f"{told} exceeds and is likely too high ({item.review_reasons}); it counts until it is measured again")
        if item.outcome == "does_not_exceed" and "biased_low" in qualifiers and ratio * near >= 1:
            said.append(f"{told} does not exceed, lies near the level and is likely too low ({item.review_reasons})")
    return said
