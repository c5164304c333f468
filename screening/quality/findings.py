"""What a check finds: one record for each sample and analyte concerned, and the words that findings may use."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

TRANSCRIPTIONS = ("read", "read_twice", "secondhand", "memory")
"""How a criterion was seen, the surest first."""

SEVERITY = ("rejected", "not_detected_at_limit", "biased_low", "biased_high", "estimated")
"""Review qualifiers, the most severe first; the most severe one stands, all reasons are kept."""

ACTIONS = {
    "none": "no mark",
    "note": "told, not marked",
    "estimated": "counts, marked as estimated",
    "biased_high": "counts, marked as likely too high",
    "biased_low": "counts, marked as likely too low",
    "not_detected_at_limit": "counts as not detected at its limit",
    "rejected": "rejected: takes no part in a pass",
}
LATE = "open: a late non-detect proves nothing"
BLANK = "kept as delivered and marked as likely too high; not above a level by itself"


@dataclass(frozen=True)
class Basis:
    """Where a criterion comes from and how it was seen."""

    citation: str
    transcription: str

    def with_(self, other: Basis) -> Basis:
        """Two criteria that act together: both named, seen no surer than the weaker."""
        if other.citation == self.citation:
            return max(self, other, key=lambda basis: TRANSCRIPTIONS.index(basis.transcription))
        weaker = max(self.transcription, other.transcription, key=TRANSCRIPTIONS.index)
        return Basis(f"{self.citation}; {other.citation}", weaker)


@dataclass(frozen=True)
class Finding:
    """One finding. ``qualifier`` is empty where nothing is marked; ``rows`` are the ids of the results marked.

    ``late`` opens a non-detect, ``blank`` opens a detection above a level; ``limit`` is what the limit of a non-detect may
    be instead, in the normal unit; ``samples`` are those of a finding about several.
    """

    check: str
    sample_id: str
    analyte: str
    criterion: str
    observed: str
    action: str
    qualifier: str
    reason: str
    basis: Basis
    rows: tuple[int, ...] = ()
    late: bool = False
    blank: bool = False
    samples: tuple[str, ...] = ()
    limit: Decimal | None = None


@dataclass
class Checked:
    """What one check did: its findings, the samples it could look at, and why it could not look at others.

    ``partly`` are those of the samples of which it could look at a part only.
    """

    check: str
    findings: list[Finding] = field(default_factory=list)
    samples: set[str] = field(default_factory=set)
    partly: set[str] = field(default_factory=set)
    looked_at: str = ""
    not_checkable: list[str] = field(default_factory=list)


def marked(action: str) -> str:
    """The qualifier of an action; '' for one that marks nothing."""
    return action if action in SEVERITY else ""


def most_severe(qualifiers: Iterable[str]) -> str:
    """The qualifier that stands; '' where there is none."""
    return min((one for one in qualifiers if one), key=SEVERITY.index, default="")
