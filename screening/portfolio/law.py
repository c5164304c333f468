"""The law of a portfolio on a day: sites with the same tables and facts share a scheme, and each scheme its level rows."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from screening.decision.law import Law, law_on
from screening.decision.request import SAMPLING, SETTINGS, Request, day_of_levels
from screening.decision.uses import tables_in_use
from screening.errors import Misuse, Refused
from screening.levels.versions import Standards, parse_reference
from screening.portfolio.shape import Manifest
from screening.screen.outcomes import counted_parts, fractions_in, sums_in, weighed_in
from screening.screen.register import LAW, TableInUse, law_rows
from screening.screen.several import TOLERANCE, tolerances
from screening.site.site_file import SiteFile, parse_site
from screening.vocabulary.analytes import Vocabulary

_OF = "scheme_no INTEGER, "
LAW_SHAPES: Mapping[str, str] = {
    "scheme_site": "site_no INTEGER, site VARCHAR, scheme_no INTEGER, several BOOLEAN",
    "used_table": f"{_OF}table_no INTEGER, level_table VARCHAR, version VARCHAR, sha256 VARCHAR",
    "level_row": f"{_OF}{LAW['level_row']}, level_table VARCHAR, alone BOOLEAN",
    "level_text": (
        f"{_OF}table_no INTEGER, level_row INTEGER, printed VARCHAR, unit VARCHAR, comparison VARCHAR, conditions VARCHAR, "
        "citation VARCHAR, transcription VARCHAR, because VARCHAR"
    ),
    "group_condition": f"{_OF}{LAW['group_condition']}",
    "covered": f"{_OF}{LAW['covered']}, perhaps BOOLEAN",
    "unavailable": f"{_OF}{LAW['unavailable']}",
    "tolerance": f"{_OF}{TOLERANCE}",
    "wanted": f"{_OF}derived VARCHAR, analyte VARCHAR, medium VARCHAR, fraction VARCHAR, level_table VARCHAR",
    "counted_part": f"{_OF}whole VARCHAR, part VARCHAR",
    "span": f"{_OF}level_table VARCHAR, since DATE, until DATE",
}
"""The tables of law, kept beside the outcomes; ``scheme_no`` and ``table_no`` name a table in use."""


@dataclass(frozen=True)
class Question:
    """What is asked of every site of a portfolio; what is not said is as the site files say."""

    levels_on: dt.date | str | None = None
    levels: tuple[str, ...] = ()
    conditions: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, str] = field(default_factory=dict)

    @property
    def duplicate_rule(self) -> str:
        """Which of a sample and its field duplicate stands."""
        return self.settings.get("duplicate_rule", SETTINGS["duplicate_rule"][0])


@dataclass(frozen=True)
class SiteRow:
    """A site as the portfolio holds it."""

    site_no: int
    site: str
    site_file: str
    levels: str
    settings: str


@dataclass
class Laws:
    """The rows of each table of `LAW_SHAPES`, the sites that the levels could not be found for, what was assumed."""

    rows: dict[str, list[tuple[Any, ...]]]
    refused: list[dict[str, str]]
    assumptions: list[str]


def laws_of(standards: Standards, manifest: Manifest, sites: Sequence[SiteRow], question: Question, today: dt.date) -> Laws:
    """The law of every site. Raises `Misuse` for words that no table of the portfolio knows."""
    for key, value in question.settings.items():
        known = (
            SETTINGS["duplicate_rule"] if key == "duplicate_rule" else ("none", "previous") if key.startswith("phase_in.") else ()
        )
        if value not in known:
            told = f"write one of {', '.join(known)}" if known else "is settled when a portfolio is written, or unknown"
            raise Misuse(f"--setting {key}={value}: {told}")
    return _Laws(standards, manifest, question, today).of(sites)


class _Laws:
    def __init__(self, standards: Standards, manifest: Manifest, question: Question, today: dt.date) -> None:
        self._standards, self._manifest, self._question, self._today = standards, manifest, question, today
        self._said = {parse_reference(text)[0]: text for text in question.levels}
        self._met: set[str] = set()
        self._schemes: dict[tuple[Any, ...], int | str] = {}
        self._several: dict[int, bool] = {}
        self._made = Laws({name: [] for name in LAW_SHAPES}, [], [])

    def of(self, sites: Sequence[SiteRow]) -> Laws:
        for row in sites:
            site = parse_site(row.site_file, f"site {row.site}")
            asked = [self._said.get(parse_reference(text)[0], text) for text in json.loads(row.levels)]
            self._met |= {parse_reference(text)[0] for text in asked} & {*self._said}
            day = day_of_levels(self._question.levels_on, site, self._today)
            key = (tuple(asked), day, tuple(sorted(site.conditions.items())), tuple(site.background), row.settings)
            if key not in self._schemes:
                try:
                    self._schemes[key] = self._scheme(row, site, asked, day)
                except Misuse:
                    raise
                except Refused as error:
                    self._schemes[key] = str(error)
            scheme = self._schemes[key]
            if isinstance(scheme, str):
                self._made.refused.append({"site": row.site, "reason": scheme})
            else:
                self._made.rows["scheme_site"].append((row.site_no, row.site, scheme, self._several[scheme]))
        for name in {*self._said} - self._met:
            raise Misuse(f"--levels {self._said[name]}: no site of the portfolio has this table")
        for word in (*self._question.conditions, *self._question.settings):
            if word not in self._met and word != "duplicate_rule":
                raise Misuse(f"{word}: no table of the portfolio has it")
        self._made.assumptions[:] = dict.fromkeys(self._made.assumptions)
        return self._made

    def _scheme(self, row: SiteRow, site: SiteFile, asked: Sequence[str], day: dt.date | str) -> int:
        names = [parse_reference(text)[0] for text in asked]
        tables = [self._standards.table(name) for name in names]
        conditions = {
            key: value for key, value in self._question.conditions.items() if any(key in one.conditions for one in tables)
        }
        phased = {f"phase_in.{one.name}" for one in tables if one.phase_in}
        settings = {key: value for key, value in self._question.settings.items() if key in phased}
        self._met |= {*conditions, *settings}
        law = law_on(self._standards, asked, day, site.conditions, conditions, settings, json.loads(row.settings))
        request = Request(row.site, "", "", law.levels, law.conditions, law.settings)
        uses, assumed = tables_in_use(self._standards, request, site)
        for use in uses:
            self._foreseen(use)
        number = 1 + max((one for one in self._schemes.values() if isinstance(one, int)), default=-1)
        self._several[number] = len(uses) > 1
        self._made.assumptions += assumed
        for name, rows in _rows(uses, law).items():
            self._made.rows[name] += [(number, *columns) for columns in rows]
        return number

    def _foreseen(self, use: TableInUse) -> None:
        """Raise `Refused` where the table asks for what was not formed when the portfolio was written."""
        name = use.table.name
        before = self._manifest.tables.get(name)
        facts = hashlib.sha256(self._standards.facts_text(name).encode()).hexdigest()
        species = {item.name for item in Vocabulary.load() if item.species_of} & {row.analyte for _, row in use.rows}
        if (
            before is None
            or before.facts != facts
            or not {*sums_in([use])} <= {*before.sums}
            or not species <= {*before.species}
            or not {*fractions_in([use])} <= {*before.fractions}
        ):
            raise Refused(
                f"{name}@{use.version.effective} asks for sums, fractions or conditions that were not worked out when the "
                "portfolio was written; write the portfolio again"
            )


def _rows(uses: Sequence[TableInUse], law: Law) -> dict[str, list[tuple[Any, ...]]]:
    made = law_rows(uses)
    hangs = {(row[0], row[1]) for row in made["group_condition"]}
    alike = Counter((row[0], row[3], row[4]) for row in made["level_row"])
    hashes = {(used.table, used.version): used.sha256 for used in law.levels}
    made["level_row"] = [
        (*row, uses[row[0]].table.name, alike[row[0], row[3], row[4]] == 1 and (row[0], row[1]) not in hangs)
        for row in made["level_row"]
    ]
    named = {row[0] for row in made["unavailable"]}
    made["covered"] = [(*row, row[2] or row[0] in named) for row in made["covered"]]
    made["tolerance"] = [*tolerances(uses)]
    sums = sums_in(uses)
    names = sorted({row.analyte for use in uses for _, row in use.rows})
    made["wanted"] = [
        *(("sum", name, "", "", "") for name in sums),
        *(("species", item.name, "", "", "") for item in Vocabulary.load() if item.species_of and item.name in names),
        *(("fraction", analyte, medium, fraction, "") for analyte, medium, fraction in fractions_in(uses)),
        *dict.fromkeys(("equivalent", rule.name, "", "", uses[number].table.name) for number, rule in weighed_in(uses)),
    ]
    made["counted_part"] = [*counted_parts(sums, uses)]
    made["used_table"] = []
    made["level_text"] = []
    made["span"] = []
    for number, use in enumerate(uses):
        effective = use.version.effective.isoformat()
        made["used_table"].append((number, use.table.name, effective, hashes[use.table.name, effective]))
        if law.settings.get("levels_by") == SAMPLING:
            made["span"].append((use.table.name, use.since, use.until))
        made["level_text"] += [
            (
                number, at, row.printed, row.unit, row.comparison, json.dumps(dict(row.conditions), sort_keys=True),
                row.citation or use.table.citation, row.transcription, item.because,
            )
            for at, (item, row) in enumerate(use.rows)
        ]  # fmt: skip
    return made
