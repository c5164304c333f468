"""Stores written out as a portfolio: reviewed, one value chosen, in dry weight, sums formed; what is left is the law."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screening import __version__
from screening.decision.request import REVIEW, SETTINGS, full_settings, tables_asked
from screening.decision.take_up import take_up
from screening.errors import Misuse, Refused
from screening.files import new_folder
from screening.levels.choose import Chosen
from screening.levels.versions import Standards, parse_reference, standards_folder
from screening.portfolio.engines import MEMORY
from screening.portfolio.shape import APART, SHAPES, Foreseen, Manifest
from screening.quality.editions import edition_asked
from screening.screen.outcomes import fractions_in, lay_out, sums_in
from screening.screen.presence import wordings_of
from screening.screen.register import TableInUse
from screening.site.site_file import parse_site
from screening.store.database import opened
from screening.store.fill import fill
from screening.store.level_texts import own_texts
from screening.store.sites import site_ids, site_text
from screening.store.snapshot import fingerprint, known_on
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb

AT_ONCE = 500_000
"""Values kept back before a file of each kind is written."""
LATER = ("duplicate_rule",)
"""Settings that are said when the portfolio is screened."""

_DERIVED = """CASE WHEN c.doubt = 'other_fraction' THEN 'fraction' WHEN len(c.parts) = 0 THEN ''
    WHEN c.only_table IS NOT NULL THEN 'equivalent' WHEN c.analyte_kind = 'species' THEN 'species' ELSE 'sum' END"""
_VALUES = f"""
INSERT INTO staged_{{kind}}
SELECT $site_no, $base + c.id, $base + c.sample_no, c.row_id, f.id, {_DERIVED} AS derived, c.sample_id, c.sample_kind, c.location,
    c.depth_top, c.depth_bottom, c.depth_unit, c.medium, c.sampled_on, c.analyte, c.cas, c.fraction, c.unit, c.detected, c.doubt,
    c.lower, c.upper, c.below_upper, c.level_analyte, t.level_table, c.quantitation, c.detection, c.undiluted
FROM comparand AS c
JOIN ranked AS r ON r.row_id = c.row_id AND r.rank = 1
JOIN deliverable AS f ON f.number = r.deliverable
LEFT JOIN named_table AS t ON t.table_no = c.only_table
WHERE derived {{which}}
ORDER BY c.id
"""
_STATES = """
INSERT INTO staged_{of}_state
SELECT t.level_table, s.state_key, $base + s.{number}, s.state, s.told FROM {of}_state AS s JOIN named_table AS t USING (table_no)
"""
_PAIRS = "INSERT INTO staged_pair SELECT $base + parent_id, $base + duplicate_id, $base + mean_id FROM paired"


@dataclass(frozen=True)
class Wish:
    """What is written out: these sites (none: all), data as known on a day, tables in place of the site files', settings."""

    sites: tuple[str, ...] = ()
    data_on: dt.date | None = None
    levels: tuple[str, ...] = ()
    settings: Mapping[str, str] = field(default_factory=dict)


def write_portfolio(
    stores: Sequence[Path], folder: Path, wish: Wish, advance: Callable[[str], None] = lambda words: None
) -> dict[str, Any]:
    """Write the sites of the stores into a new folder; ``advance`` is told each site before its turn.

    Returns ``sites``, ``refused`` and ``amounts``. The folder appears whole or not at all. Raises `Refused` for a folder that
    is there, for an unknown site, and where two stores hold a site of the same id or different texts of a level table.
    """
    for key in wish.settings:
        if key in LATER:
            raise Misuse(f"--setting {key}: is said to 'portfolio screen'")
        if key not in (*SETTINGS, REVIEW) and not key.startswith("wording."):
            raise Misuse(f"--setting {key}: is unknown; known are {', '.join(sorted({*SETTINGS, REVIEW} - {*LATER}))}")
    with new_folder(folder) as beside:
        for name in SHAPES:
            (beside / name).mkdir()
        made = _Made(beside, wish)
        for store in stores:
            made.take(store, advance)
        made.close()
    return {"sites": len(made.sites), "refused": made.refused, "amounts": made.amounts}


class _Made:
    """A portfolio in the making."""

    def __init__(self, folder: Path, wish: Wish) -> None:
        self._folder, self._wish = folder, wish
        self.sites: dict[str, Path] = {}
        self.refused: list[dict[str, str]] = []
        self.amounts = 0
        self._parts, self._last = 0, 0
        self._tables: dict[str, TableInUse] = {}
        self._foreseen: dict[str, Foreseen] = {}
        self._own: dict[str, tuple[str, dict[str, str]]] = {}
        self._used: set[str] = set()

    def take(self, store: Path, advance: Callable[[str], None]) -> None:
        """Write out one store."""
        with opened(store) as connection:
            connection.execute(f"SET memory_limit = '{MEMORY}'")
            for name, texts in own_texts(connection).items():
                if self._own.setdefault(name, texts) != texts:
                    raise Refused(
                        f"{store}: holds another text of the level table {name} than a store before; write them out apart"
                    )
            standards = Standards([standards_folder()], self._own)
            for name, columns in SHAPES.items():
                connection.execute(f"CREATE OR REPLACE TEMP TABLE staged_{name} ({columns})")
            known = site_ids(connection)
            for site in known if not self._wish.sites else [one for one in self._wish.sites if one in known]:
                advance(site)
                if site in self.sites:
                    raise Refused(f"{store}: site '{site}' is in {self.sites[site]} as well; write them out apart")
                self.sites[site] = store
                try:
                    self._site(connection, standards, site, store)
                except Misuse:
                    raise
                except Refused as error:
                    del self.sites[site]
                    self.refused.append({"site": site, "reason": str(error)})
                self._flush(connection, AT_ONCE)
            self._flush(connection, 0)
            if self._parts == 0:
                self._flush(connection, -1)

    def close(self) -> None:
        """Write the manifest. Raises `Refused` where a site or setting was never met."""
        known = {*self.sites, *(one["site"] for one in self.refused)}
        for site in self._wish.sites:
            if site not in known:
                raise Refused(f"site '{site}' is unknown; add one with 'screening site add FILE'")
        for key in self._wish.settings:
            if key not in self._used and self.sites:
                raise Refused(f"--setting {key}: no table of these sites has it")
        data_on = self._wish.data_on.isoformat() if self._wish.data_on else None
        Manifest(__version__, data_on, self._foreseen, self._own).write(self._folder)

    def _site(self, connection: duckdb.DuckDBPyConnection, standards: Standards, identity: str, store: Path) -> None:
        text = site_text(connection, identity)
        site = parse_site(text, f"site {identity}")
        asked = tables_asked(site, self._wish.levels)
        names = list(dict.fromkeys(parse_reference(one)[0] for one in asked))
        settings = self._settings(standards, names)
        tables = [self._table(standards, name, settings) for name in names]
        review = settings.pop(REVIEW, "") or site.screening.review
        edition = edition_asked(review, standards_folder())
        snapshot = known_on(connection, identity, self._wish.data_on)
        waiting, missing, _ = take_up(connection, site, snapshot, edition, settings)
        lay_out(connection, tables, settings["missing_basis"], settings["equivalents_nondetects"])
        fill(connection, "named_table", "table_no INTEGER, level_table VARCHAR", list(enumerate(names)))
        number = self._last
        base = number * APART
        for kind, which in (("value", "= ''"), ("derived_value", "<> ''")):
            connection.execute(_VALUES.format(kind=kind, which=which), {"site_no": number, "base": base})
        for of, column in (("sample", "sample_no"), ("value", "id")):
            connection.execute(_STATES.format(of=of, number=column), {"base": base})
        connection.execute(_PAIRS, {"base": base})
        (amounts,) = connection.execute("SELECT count(*) FROM comparand").fetchall()[0]
        named = f"{edition.name} {edition.version.isoformat()} {edition.sha256}" if edition else ""
        connection.execute(
            "INSERT INTO staged_site VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                number, identity, site.site.name, store.name, text, fingerprint(connection, snapshot), json.dumps(asked),
                json.dumps(settings), named, amounts, len(waiting), len(missing),
            ],
        )  # fmt: skip
        self.amounts += amounts
        self._last += 1

    def _settings(self, standards: Standards, names: Sequence[str]) -> dict[str, str]:
        wordings: dict[str, tuple[str, ...]] = {}
        for name in names:
            wordings |= wordings_of(standards.table(name))
        known = {**SETTINGS, REVIEW: (), **{f"wording.{key}": () for key in wordings}}
        given = {key: value for key, value in self._wish.settings.items() if key in known}
        self._used |= {*given}
        settings = full_settings(given, wordings)
        return {key: value for key, value in settings.items() if key not in LATER}

    def _table(self, standards: Standards, name: str, settings: Mapping[str, str]) -> TableInUse:
        """All versions of a table at once, so that the bounds of every amount that one of them lists are formed."""
        if name not in self._tables:
            versions = [standards.version(name, effective) for effective in standards.days(name)]
            rows = [Chosen(row) for version in versions for row in version.rows]
            use = TableInUse(standards.table(name), versions[-1], rows, settings)
            self._tables[name] = use
            self._foreseen[name] = foreseen(standards, use)
        return self._tables[name]

    def _flush(self, connection: duckdb.DuckDBPyConnection, more_than: int) -> None:
        (waiting,) = connection.execute("SELECT count(*) FROM staged_value").fetchall()[0]
        (sites,) = connection.execute("SELECT count(*) FROM staged_site").fetchall()[0]
        if waiting <= more_than and not (more_than == 0 and sites):
            return
        for name in SHAPES:
            path = self._folder / name / f"part-{self._parts:05d}.parquet"
            connection.execute(
                f"COPY staged_{name} TO '{str(path).replace(chr(39), chr(39) * 2)}' (FORMAT parquet, COMPRESSION zstd)"
            )
            connection.execute(f"DELETE FROM staged_{name}")
        self._parts += 1


def foreseen(standards: Standards, use: TableInUse) -> Foreseen:
    """What a table in use asks to be formed of delivered values, and the hash of its facts."""
    names = {row.analyte for _, row in use.rows}
    species = sorted(item.name for item in Vocabulary.load() if item.species_of and item.name in names)
    facts = hashlib.sha256(standards.facts_text(use.table.name).encode()).hexdigest()
    return Foreseen(facts, tuple(sorted(sums_in([use]))), tuple(species), tuple(fractions_in([use])))
