"""Three-way match of custody record, sample plan and deliverables: asked, delivered, waiting, missing, unasked.

An analysis counts as delivered for a sample once one of its analytes has come; whether every analyte that a rule
requires has come is another question. Reads the temporary table ``known`` (see `screening.store.snapshot`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from screening.site.site_file import SiteFile
from screening.store.custody import Request, lines_of, requests_of
from screening.store.late_names import late_rows
from screening.store.ledger import learned_names
from screening.store.sites import site_of
from screening.store.snapshot import Snapshot, WaitingRow, known_on, load
from screening.vocabulary.analysis_groups import answered_by, root
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.sample_names import near_names

if TYPE_CHECKING:
    import duckdb

DELIVERED = (
    "SELECT DISTINCT sample_id, location, analyte, method, sample_kind IN ('field', 'field_duplicate') FROM known "
    "WHERE sample_kind IN ('field', 'field_duplicate', 'trip_blank', 'field_blank', 'equipment_blank') AND state != 'not_analysed' "
    "ORDER BY ALL"
)
STILL_WAITING = """
SELECT coalesce(
        (SELECT max(c.new_text) FROM held AS o JOIN decision AS c ON c.subject = o.id AND c.kind = 'held_accepted'
         WHERE o.row_id = h.row_id AND o.field = 'sample_id' AND list_contains($decisions, c.number)),
        nullif(v.sample_id, ''), nullif(v.location, ''), v.lab_sample_id
    ), v.location, v.analyte, v.cas, v.method, h.field, h.proposal
FROM held AS h JOIN delivered AS v USING (row_id)
WHERE list_contains($held, h.id)
ORDER BY h.row_id
"""


@dataclass
class Came:
    """What came, or waits, for one sample: its analytes with their methods, the names delivered, whether only blanks."""

    rows: set[tuple[str, str]] = field(default_factory=set)
    names: set[str] = field(default_factory=set)
    blank: bool = False


@dataclass(frozen=True)
class Match:
    """The match; every pair is (sample, analysis), in the order of the records."""

    asked: tuple[tuple[str, str], ...]
    delivered: tuple[tuple[str, str], ...]
    waiting: tuple[tuple[str, str], ...]
    missing: tuple[tuple[str, str], ...]
    unasked: tuple[tuple[str, str], ...]
    never_delivered: tuple[tuple[str, str], ...]
    on_neither: tuple[str, ...]
    near: tuple[tuple[str, str], ...]


def match_site(connection: duckdb.DuckDBPyConnection, site: str) -> dict[str, Any]:
    """The document of `custody match`, from all data known now. Raises `Refused` for an unknown site."""
    found = site_of(connection, site)
    snapshot = known_on(connection, site, None)
    waiting = load(connection, snapshot)
    made = match(connection, found, snapshot, waiting)
    counts = {name: len(getattr(made, name)) for name in ("asked", "delivered", "waiting", "missing", "unasked")}

    def pairs(of: Sequence[tuple[str, str]]) -> list[dict[str, str]]:
        return [{"sample": sample, "analysis": analysis} for sample, analysis in of]

    return {
        "counts": counts,
        "never_delivered": [{"sample": sample, "on": on} for sample, on in made.never_delivered],
        "missing": pairs(made.missing), "waiting": pairs(made.waiting), "unasked": pairs(made.unasked),
        "on_neither": list(made.on_neither),
        "near_names": [{"delivered": name, "proposed": proposed} for name, proposed in made.near],
        "records": list(snapshot.custody),
    }  # fmt: skip


def gaps(
    connection: duckdb.DuckDBPyConnection, site: SiteFile, snapshot: Snapshot, waiting: Sequence[WaitingRow]
) -> dict[str, str]:
    """What was asked for on custody records and has not come: a sentence for each sample; none where nothing was asked for."""
    if not site.custody and not snapshot.custody:
        return {}
    made = match(connection, site, snapshot, waiting)
    never = {sample for sample, on in made.never_delivered if on != "plan"}
    by_sample: dict[str, list[str]] = {}
    for sample, analysis in made.missing:
        by_sample.setdefault(sample, []).append(analysis)
    return {
        sample: f"sample {sample} stands on the custody record and was never delivered ({', '.join(analyses)})"
        if sample in never
        else f"{', '.join(analyses)} asked for on the custody record for sample {sample} and not delivered"
        for sample, analyses in by_sample.items()
    }


def match(connection: duckdb.DuckDBPyConnection, site: SiteFile, snapshot: Snapshot, waiting: Sequence[WaitingRow]) -> Match:
    """Hold the custody records and the plan of a site against what came and what waits."""
    requests = requests_of(lines_of(connection, site, snapshot.custody))
    samples = list(dict.fromkeys(request.sample for request in requests))
    plan = [place.id for place in site.location]
    came = _came(connection, samples)
    held = _held(connection, site.site.id, snapshot, waiting, samples)
    for row in late_rows(connection, site, snapshot):  # screened as nothing while the name is in doubt: it waits
        if row.sample_id in came and " | " not in row.proposal:
            moved, awaiting = came.pop(row.sample_id), held.setdefault(row.proposal, Came())
            awaiting.rows |= moved.rows
            awaiting.names.add(row.sample_id)
    asked: dict[str, list[Request]] = {sample: [] for sample in samples}
    for request in requests:
        asked[request.sample].append(request)
    delivered, awaited, missing = [], [], []
    for sample, wanted in asked.items():
        here, there = _answered(wanted, came.get(sample)), _answered(wanted, held.get(sample))
        delivered += [(sample, request.group) for request in wanted if request in here]
        awaited += [(sample, request.group) for request in wanted if request in there - here]
        missing += [(sample, request.group) for request in wanted if request not in here | there]
    recorded = {*samples, *plan}
    everything = {*came, *held}
    named = everything | {name for item in came.values() for name in item.names}
    never = [
        (sample, ("custody record and plan" if sample in plan else "custody record") if sample in samples else "plan")
        for sample in dict.fromkeys((*samples, *plan))
        if sample not in named
    ]
    strangers = sorted(name for name in everything if name not in recorded and not came.get(name, Came()).blank)
    near = {name: near_names(name, recorded) for name in strangers}
    near |= {written: [name] for name, item in held.items() for written in item.names if written != name and name in recorded}
    return Match(
        tuple((request.sample, request.group) for request in requests), tuple(delivered), tuple(awaited), tuple(missing),
        tuple(_unasked(asked, came, held)), tuple(never),
        tuple(name for name in strangers if not near[name] and not came.get(name, Came()).names & recorded),
        tuple((name, one) for name, proposed in sorted(near.items()) for one in proposed),
    )  # fmt: skip


def _came(connection: duckdb.DuckDBPyConnection, samples: Sequence[str]) -> dict[str, Came]:
    """What came, under the name on the custody record where sample or location has it exactly, else as delivered."""
    found: dict[str, Came] = {}
    for sample, location, analyte, method, of_field in connection.execute(DELIVERED).fetchall():
        name = sample if sample in samples or location not in samples else location
        item = found.setdefault(name, Came(blank=not of_field))
        item.rows.add((analyte, method))
        item.names |= {sample, location}
        item.blank &= not of_field
    return found


def _held(
    connection: duckdb.DuckDBPyConnection,
    site: str,
    snapshot: Snapshot,
    waiting: Sequence[WaitingRow],
    samples: Sequence[str],
) -> dict[str, Came]:
    """What waits for a person, under the single name proposed for it where its own is on no record."""
    vocabulary = Vocabulary.load(learned_names(connection, site))
    asked = {"held": [row.id for row in waiting], "decisions": list(snapshot.decisions)}
    found: dict[str, Came] = {}
    for sample, location, analyte, cas, method, of_field, proposal in connection.execute(STILL_WAITING, asked).fetchall():
        name = sample if sample in samples or location not in samples else location
        if of_field in ("sample_id", "location") and proposal and " | " not in proposal:
            name = proposal
        item = found.setdefault(name, Came())
        item.rows.add((vocabulary.identify(analyte, cas).analyte or analyte, method))
        item.names.add(location if of_field == "location" else sample)
    return found


def _settled(came: Came, asked: Iterable[str]) -> list[tuple[str, str, frozenset[str]]]:
    """Each row with the groups it answers; where it has several ways, those that other rows of the sample settle."""
    ways = {(analyte, method): answered_by(analyte, method) for analyte, method in came.rows}
    sure = {root(min(way)) for found in ways.values() if len(found) == 1 for way in found}
    roots_asked = {root(group) for group in asked}
    settled = []
    for (analyte, method), found in ways.items():
        taken = [way for way in found if root(min(way)) in sure] if len(found) > 1 else list(found)
        if not taken:
            wanted = [way for way in found if root(min(way)) in roots_asked]
            taken = wanted[:1] or [found[0]]
        settled += [(analyte, method, way) for way in taken]
    return settled


def _answered(wanted: Sequence[Request], came: Came | None) -> set[Request]:
    """Those of one sample's requests that the rows answer."""
    if came is None:
        return set()
    settled = _settled(came, [request.group for request in wanted])
    names = {name for analyte, _, way in settled for name in (*way, analyte)}
    methods = [method.casefold() for _, method in came.rows]
    return {
        request
        for request in wanted
        if (request.group in names if request.listed else any(request.group.casefold() in method for method in methods))
    }


def _unasked(asked: Mapping[str, list[Request]], came: dict[str, Came], held: dict[str, Came]) -> list[tuple[str, str]]:
    """Analyses that came, or wait, for a sample and that nobody asked for on it, each under its widest fitting name."""
    found: dict[tuple[str, str], None] = {}
    for sample, item in [*came.items(), *held.items()]:
        if item.blank:
            continue
        wanted = asked.get(sample, [])
        groups = {request.group for request in wanted}
        roots = {root(group) for group in groups}
        texts = [request.group.casefold() for request in wanted if not request.listed]
        for analyte, method, way in sorted(_settled(item, groups), key=repr):
            if way & groups or analyte in groups or any(text in method.casefold() for text in texts):
                continue
            widest = root(min(way))
            narrower = sorted(way - {widest})
            found[sample, narrower[0] if widest in roots and narrower else widest] = None
    return list(found)
