"""What coverage finds: what a rule asks of a component, a sample that stands wrong, a gap and the act that closes it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """A sample that does not stand where the rule wants it."""

    kind: str
    location: str
    text: str
    action: str


@dataclass(frozen=True)
class Requirement:
    """What one rule row asks of one component. ``decides`` is false for general practice, which is only offered."""

    component: str
    what: str
    required: int | None
    taken: int
    missing: int | None
    rule: str
    where: str
    citation: str
    transcription: str
    rule_file: str
    row: str
    decides: bool
    samples: tuple[str, ...]
    planned: tuple[str, ...]
    faults: tuple[Fault, ...] = ()
    waived: str = ""
    note: str = ""


@dataclass(frozen=True)
class Gap:
    """Something that keeps the sampling from being complete, and the act that would close it."""

    text: str
    action: str
