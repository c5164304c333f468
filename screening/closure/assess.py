"""The closure of a site put together: coverage, analytes, signs; what a run takes in and what the command prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from screening.closure.coverage import Coverage, cover
from screening.closure.findings import Gap
from screening.closure.geometry import fill_notes
from screening.closure.library import GENERAL, Library
from screening.closure.required_analytes import AnalyteMissing, analytes_missing, gaps_of
from screening.closure.rules import UNREAD, RuleFile
from screening.closure.samples import places, sampled
from screening.closure.signs import Seen, read_signs
from screening.site.site_file import SiteFile
from screening.store.custody import lines_of
from screening.store.sites import site_of
from screening.store.snapshot import Snapshot, WaitingRow, known_on, load

if TYPE_CHECKING:
    import duckdb

DECIDING = ("sampling", "products", "signs")
"""Kinds of rules that reach the recommendation."""
BESIDE = ("deadlines", "papers", "safety")
"""Kinds of rules that stand beside it."""


@dataclass(frozen=True)
class Assessment:
    """What the rules of closure make of a site."""

    site: SiteFile
    coverage: Coverage
    missing: tuple[AnalyteMissing, ...]
    signs: tuple[Seen, ...]
    notes: tuple[str, ...]

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """Everything that keeps the evidence from being complete, once each."""
        of_signs = [seen.gap for seen in self.signs if seen.gap]
        return tuple(dict.fromkeys([*self.coverage.gaps, *gaps_of(self.missing), *of_signs]))

    @property
    def methods(self) -> dict[str, str]:
        """How each tank is closed."""
        return {tank.id: tank.closure.replace("_", " ") for tank in self.site.tank}

    def document(self) -> dict[str, Any]:
        """The JSON of `coverage`, which a run carries too."""
        return {
            "site": self.site.site.id,
            "stated": self.coverage.stated,
            "closure_methods": self.methods,
            "requirements": [_requirement(asdict(one)) for one in self.coverage.requirements],
            "analytes_missing": [asdict(one) for one in self.missing],
            "gaps": [asdict(gap) for gap in self.gaps],
            "signs": [{"sign": seen.kind, "triggers": seen.triggers, "text": seen.text} for seen in self.signs],
            "out_of_the_ground": list(self.coverage.out_of_the_ground),
            "notes": list(dict.fromkeys([*self.coverage.notes, *self.notes])),
            "assumptions": list(self.coverage.assumptions),
            "complete": not self.gaps,
        }


def _requirement(one: dict[str, Any]) -> dict[str, Any]:
    return {key: list(value) if isinstance(value, tuple) else value for key, value in one.items()}


def files_deciding(library: Library, site: SiteFile, sampling: Sequence[str] = ()) -> list[RuleFile]:
    """The rule files on which the recommendation depends, general practice among them."""
    found: dict[tuple[str, str], RuleFile] = {}
    for kind in DECIDING:
        taken = library.taken(kind, site, sampling if kind == "sampling" else None)
        for file in (*taken.files, library.file(kind, GENERAL)):
            found[file.kind, file.name] = file
    return [found[key] for key in sorted(found)]


def files_beside(library: Library, site: SiteFile) -> list[RuleFile]:
    """The rule files that a report of the site takes in and on which no recommendation depends, general practice among them."""
    found: dict[tuple[str, str], RuleFile] = {}
    for kind in BESIDE:
        general = (library.general(kind),) if GENERAL in library.names(kind) else ()
        for file in (*library.taken(kind, site).files, *general):
            found[file.kind, file.name] = file
    return [found[key] for key in sorted(found)]


def assess(
    connection: duckdb.DuckDBPyConnection,
    site: SiteFile,
    library: Library,
    snapshot: Snapshot,
    waiting: Sequence[WaitingRow],
    sampling: Sequence[str] = (),
) -> Assessment:
    """Hold a site against the rules of closure; reads the temporary table ``known``. Raises `Refused` for an unknown rule."""
    samples = sampled(connection, with_analytes=bool(site.tank or site.required))
    asked_of_laboratory = {line.sample for line in lines_of(connection, site, snapshot.custody)}
    held = {row.sample_id for row in waiting}
    rules = {kind: library.taken(kind, site, sampling if kind == "sampling" else None) for kind in DECIDING}
    coverage = cover(site, samples, library, rules["sampling"], asked_of_laboratory | held)
    pairs = [(row.sample_id, row.analyte) for row in waiting]
    missing, notes = (
        analytes_missing(site, samples, library, rules["products"], pairs) if site.tank or site.required else ([], [])
    )
    seen = read_signs(site, rules["signs"], places(site, samples))
    notes += _unread(coverage) + fill_notes(site)
    return Assessment(site, coverage, tuple(missing), tuple(seen), tuple(notes))


def _unread(coverage: Coverage) -> list[str]:
    used = {(one.rule_file, one.transcription) for one in coverage.requirements if one.decides and one.transcription in UNREAD}
    return [
        f"{name}: numbers of {UNREAD[status]}; ask the agency"
        if status.startswith("common")
        else f"{name}: numbers {UNREAD[status]}; check them against the rule"
        for name, status in sorted(used)
    ]


def coverage_now(
    connection: duckdb.DuckDBPyConnection, library: Library, identity: str, sampling: Sequence[str] = ()
) -> dict[str, Any]:
    """The document of `coverage` from all data known now. Raises `Refused` for an unknown site or rule."""
    site = site_of(connection, identity)
    snapshot = known_on(connection, identity, None)
    waiting = load(connection, snapshot)
    return assess(connection, site, library, snapshot, waiting, sampling).document()
