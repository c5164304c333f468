"""Delivered samples held against custody record, plan and earlier deliveries: unknown or nearly known names wait.

With a custody record every name that is on neither record nor plan waits. Without one a name waits that is written
almost like one on the plan, in an earlier deliverable or further up in the same file: two names, or one?
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from screening.normal.dates import read_moment
from screening.site.site_file import SiteFile
from screening.store.custody import lines_of, records
from screening.store.sites import site_of
from screening.vocabulary.sample_names import near_names, written_as

if TYPE_CHECKING:
    import duckdb

ACCEPTED_NAMES = (
    "SELECT DISTINCT c.new_text FROM decision AS c JOIN held AS h ON h.id = c.subject "
    "WHERE c.site = ? AND c.kind = 'held_accepted' AND h.field IN ('sample_id', 'location') "
    "AND (? IS NULL OR list_contains(?, c.number))"
)
EARLIER_NAMES = """
SELECT DISTINCT unnest([r.sample_id, r.location]) FROM result AS r JOIN deliverable AS d ON d.number = r.deliverable
WHERE d.site = $site AND d.id != $replaced AND r.class = 'result'
  AND NOT EXISTS (SELECT 1 FROM deliverable AS n WHERE n.replaces = d.id AND NOT n.replaces_only_contents)
"""


@dataclass(frozen=True)
class Expected:
    """Names on a site's custody records and plan, or accepted by a person; when each sample was collected; whether a
    record says that nothing else may come; names that came before, where none does; names that only a person accepted."""

    names: tuple[str, ...]
    collected: Mapping[str, dt.date] = field(default_factory=dict)
    recorded: bool = True
    earlier: tuple[str, ...] = ()
    accepted_only: frozenset[str] = frozenset()


def expected_samples(connection: duckdb.DuckDBPyConnection, site: str, replaced: str | None = None) -> Expected:
    """What a site expects of the next file, which may replace a deliverable as a whole."""
    expected = expected_by(connection, site_of(connection, site), records(connection, site, None), None)
    if expected.recorded:
        return expected
    rows = connection.execute(EARLIER_NAMES, {"site": site, "replaced": replaced or ""}).fetchall()
    return replace(expected, earlier=tuple(sorted(row[0] for row in rows)))


def expected_by(
    connection: duckdb.DuckDBPyConnection, site: SiteFile, known_records: Sequence[str], decisions: Sequence[int] | None
) -> Expected:
    """What a site expects by the custody records and decisions named; None means all decisions."""
    lines = lines_of(connection, site, known_records)
    numbers = None if decisions is None else list(decisions)
    accepted = [row[0] for row in connection.execute(ACCEPTED_NAMES, [site.site.id, numbers, numbers]).fetchall()]
    planned = [*(line.sample for line in lines), *(place.id for place in site.location)]
    names = [*planned, *sorted(accepted)]
    collected = {line.sample: read_moment(line.collected, None).iso for line in lines}
    days = {sample: dt.date.fromisoformat(iso[:10]) for sample, iso in collected.items() if iso}
    return Expected(tuple(dict.fromkeys(names)), days, bool(lines), accepted_only=frozenset(accepted) - {*planned})


@dataclass(frozen=True)
class Question:
    """The field that a person must decide, why, and the names that may be meant; all '' where there is no question."""

    held_field: str = ""
    reason: str = ""
    proposal: str = ""


class Names:
    """The names known so far. Names of a file that are taken join them, so that a later one near to them is asked about."""

    def __init__(self, expected: Expected) -> None:
        self._recorded = expected.recorded
        self._names = expected.names
        self._exact = set(expected.names)
        self._spelt: dict[str, list[str]] = {}
        self._where: dict[str, str] = {}
        for where, names in (("planned", expected.names), ("delivered before", expected.earlier)):
            for name in names:
                self._learn(name, where)

    def _learn(self, name: str, where: str) -> None:
        if name not in self._where:
            self._where[name] = where
            for form in written_as(name):
                self._spelt.setdefault(form, []).append(name)

    def _twins(self, name: str) -> list[str]:
        """The names known that may be this one written otherwise."""
        return list(dict.fromkeys(twin for form in sorted(written_as(name)) for twin in self._spelt.get(form, ())))

    def question(self, sample: str, location: str, delivered: str, *, learn: bool = True) -> Question:
        """What to ask about a sample and its location; ``delivered`` is the sample's own number as delivered."""
        if self._recorded:
            return self._stranger(sample, location, delivered)
        if sample not in self._where and location not in self._where:
            for name in dict.fromkeys((sample, location)):
                twins = self._twins(name)
                if twins:
                    field = "sample_id" if name == sample and (delivered or not location) else "location"
                    what = "sample" if name == sample else "location"
                    like = " and ".join(f"'{twin}' ({self._where[twin]})" for twin in twins)
                    return Question(field, f"{what} '{name}' is written almost like {like}: one name or two?", " | ".join(twins))
        for name in (sample, location) if learn else ():
            self._learn(name, "in this file")
        return Question()

    def _stranger(self, sample: str, location: str, delivered: str) -> Question:
        if sample in self._exact or (location in self._exact and not self._twins(sample)):
            return Question()
        near, of_field, text = near_names(sample, self._names), "sample_id" if delivered or not location else "location", sample
        if not near and location != sample:
            near = near_names(location, self._names)
            if near:
                of_field, text = "location", location
        said = f"; it may be {' or '.join(near)}" if near else ""
        what = "location" if text != sample else "sample"
        return Question(of_field, f"{what} '{text}' is on neither custody record nor plan{said}", " | ".join(near))
