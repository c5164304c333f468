"""Statistics of one analyte beside the answer of a run: what the table's rule allows decides nothing by itself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from screening.decision.background_values import backgrounds_of
from screening.decision.rule_tests import RULES, Found
from screening.decision.runs import Asked, screen
from screening.decision.sample_groups import BY, Group, groups_of
from screening.decision.well_trends import trends_of
from screening.errors import Misuse, Refused
from screening.levels.rules import Statistic
from screening.levels.versions import Standards
from screening.screen.statistics import singles
from screening.screen.statistics.choice import Tested, distributions
from screening.screen.statistics.estimates import estimates, median_words
from screening.screen.statistics.flags import flag
from screening.screen.statistics.resampling import SEED
from screening.screen.statistics.shown import figures, not_above
from screening.vocabulary.analytes import Vocabulary

if TYPE_CHECKING:
    import duckdb

NOT_ALLOWED = "not allowed by this table, shown for information only"
NOT_MADE = "not computed: "
LIMIT_OF_MEAN = "upper_confidence_limit"
TREND = "trend"
NO_RULE = "held against no level, shown for information only"
NAMES = (*RULES, *singles.SINGLES, TREND)
CAUTION = (
    "Statistics stand beside the sample-by-sample answer and never replace it. They suppose samples taken by a plan that the "
    "rule asks for, without aiming; closure samples are mostly aimed at the worst places, of which a mean tells nothing. "
    "Whether a rule allows a test on these samples is for the authority and a licensed professional to say."
)


@dataclass(frozen=True)
class Wanted:
    """Which statistics: the analyte, one test or all, how samples are grouped, of which locations, and the seed.

    ``short`` leaves out the estimates, and the tests that the table does not allow but the limit of the mean where it allows none.
    """

    analyte: str
    test: str | None = None
    by: str = "medium"
    locations: tuple[str, ...] = ()
    seed: int = SEED
    short: bool = False


def statistics(
    connection: duckdb.DuckDBPyConnection, standards: Standards, asked: Asked, wanted: Wanted, today: dt.date
) -> dict[str, Any]:
    """The JSON document of the statistics, with the run that they stand beside (made and stored as by `screen`).

    Raises `Misuse` for an unknown test, `Refused` for an analyte or a location that the site has no result of.
    """
    if wanted.test is not None and wanted.test not in NAMES:
        raise Misuse(f"--test {wanted.test}: is unknown; known are {', '.join(NAMES)}")
    if wanted.by not in BY:
        raise Misuse(f"--by {wanted.by}: write one of {', '.join(BY)}")
    return statistics_beside(screen(connection, standards, asked, today), standards, wanted)


def statistics_beside(answer: Mapping[str, Any], standards: Standards, wanted: Wanted) -> dict[str, Any]:
    """As `statistics`, for the answer of a run and the tables that it used."""
    groups = _groups(answer, wanted)
    tests: list[dict[str, Any]] = []
    described, backgrounds = [], []
    for group in groups:
        tested, why = _tested(group, wanted.seed)
        described.append(_described(group, tested, why, wanted.short))
        table = standards.table(group.table)
        allowed = table.statistics
        backgrounds += backgrounds_of(group, table.backgrounds, tested, bool(wanted.locations))
        names = _short_names(group, allowed) if wanted.short else NAMES
        for name in (name for name in names if name != TREND and wanted.test in (None, name)):
            tests.append(_test(group, name, tested, allowed, wanted.seed))
    trends = trends_of(groups) if wanted.test in (None, TREND) else []
    return {
        "run": answer["run"], "site": answer["site"], "site_name": answer["site_name"], "analyte": answer_name(answer, wanted),
        "status": answer["recommendation"]["status"], "held_back": len(answer["held_back"]), "seed": wanted.seed,
        "tests": tests + [_as_test(one) for one in trends], "groups": described, "trends": trends, "backgrounds": backgrounds,
        "caution": CAUTION,
    }  # fmt: skip


def answer_name(answer: Mapping[str, Any], wanted: Wanted) -> str:
    """The analyte as the answer writes it."""
    names = _names(wanted.analyte)
    return str(next(item["analyte"] for item in answer["outcomes"] if item["analyte"].casefold() in names))


def _names(analyte: str) -> set[str]:
    listed = Vocabulary.load().named(analyte)
    return {analyte.casefold(), *([listed.name.casefold()] if listed else [])}


def _groups(answer: Mapping[str, Any], wanted: Wanted) -> list[Group]:
    names = _names(wanted.analyte)
    with_analyte = [item for item in answer["outcomes"] if item["analyte"].casefold() in names]
    if not with_analyte:
        known = sorted({item["analyte"] for item in answer["outcomes"]})
        raise Refused(f"site '{answer['site']}' has no result of '{wanted.analyte}'; it has {', '.join(known) or 'none'}")
    places = sorted({item["location"] for item in with_analyte})
    for place in wanted.locations:
        if place not in places:
            raise Refused(f"--location {place}: has no result of '{wanted.analyte}'; known are {', '.join(places)}")
    return groups_of(answer, names, wanted.by, wanted.locations)


def _short_names(group: Group, allowed: Sequence[Statistic]) -> tuple[str, ...]:
    named = {one.name for one in allowed if not one.media or group.medium in one.media}
    return tuple(name for name in NAMES if name in named) or (LIMIT_OF_MEAN,)


def _tested(group: Group, seed: int) -> tuple[tuple[Tested, ...], str]:
    try:
        return distributions(group.observed.detects, seed), ""
    except Refused as error:
        return (), str(error)


def _test(group: Group, name: str, tested: tuple[Tested, ...], allowed: Sequence[Statistic], seed: int) -> dict[str, Any]:
    rule = next((one for one in allowed if one.name == name and (not one.media or group.medium in one.media)), None)
    notes = [] if rule else [NOT_ALLOWED]
    source = singles.SINGLES[name][1] if name in singles.SINGLES else ""
    try:
        if rule and rule.minimum and len(group.samples) < rule.minimum:
            raise Refused(f"the rule needs at least {rule.minimum} samples, here are {len(group.samples)}: take more")
        found = RULES[name](group, tested) if name in RULES else _single(group, name, tested, seed)
    except Refused as error:
        found = Found(None, None, None, f"{NOT_MADE}{error}")
    if rule and not rule.transcription.startswith("read"):
        notes.append(f"the rule's text is known from {_known_from(rule.transcription)}: check it before relying on it")
    return {
        "name": name, "table": group.table, "version": group.version, "medium": group.medium, "fraction": group.fraction, "location": group.place,
        "n": len(group.samples), "detected": group.detected, "estimate": found.estimate, "limit": found.limit, "unit": group.unit,
        "level": group.printed, "allowed": rule is not None, "passes": found.holds if rule else None, "holds": found.holds,
        "method": found.method, "parts": [vars(part) for part in found.parts],
        "citation": rule.citation if rule else source, "rule": rule.text if rule else "",
        "note": "; ".join([*notes, found.note]),
    }  # fmt: skip


def _as_test(trend: Mapping[str, Any]) -> dict[str, Any]:
    """A trend among the tests: it is held against no level."""
    same = ("table", "version", "medium", "fraction", "location", "detected", "unit", "level", "citation")
    told = f"{trend['direction']}, S {trend['s']}, one-sided p {trend['p_one_sided']}; estimate is the slope a year"
    return {
        **{key: trend[key] for key in same}, "name": TREND, "n": trend["rounds"], "estimate": trend["slope_a_year"], "limit": None,
        "allowed": False, "passes": None, "holds": None, "method": "Mann-Kendall, Theil-Sen", "parts": [], "rule": "",
        "note": "; ".join(filter(None, [NO_RULE, told, trend["note"]])),
    }  # fmt: skip


def _known_from(transcription: str) -> str:
    return {"memory": "memory", "secondhand": "another publication"}.get(transcription, transcription)


def _single(group: Group, name: str, tested: tuple[Tested, ...], seed: int) -> Found:
    made = singles.SINGLES[name][0](singles.Asked(group.observed, tested, group.level, seed))
    if made.share:
        return Found(figures(made.estimate), figures(made.limit), None, f"shares of all samples, not amounts; {made.note}", name)
    holds = None if group.level is None or group.unbounded else not_above(made.limit, group.level, group.sign)
    return Found(figures(made.estimate, group.level), figures(made.limit, group.level), holds, made.note, name)


def _described(group: Group, tested: Sequence[Tested], why: str, short: bool) -> dict[str, Any]:
    """What is known of a group beside its tests: outcomes, distributions, estimates, outliers."""
    document: dict[str, Any] = {
        "table": group.table, "version": group.version, "medium": group.medium, "fraction": group.fraction,
        "location": group.place, "level": group.printed, "unit": group.unit, "n": len(group.samples), "detected": group.detected,
        "notes": list(group.notes), "sample_by_sample": dict(group.outcomes),
        "distributions": [{**vars(one), "statistic": figures(one.statistic), "p": figures(one.p), "told": one.told} for one in tested],
        "estimates": [], "median": why, "outliers": [], "outlier_test": why,
    }  # fmt: skip
    if why:
        return document
    observed = group.observed
    detects = [one for one in group.samples if one.counts and not one.censored]
    flagged = flag(observed.detects, tested)
    return document | {
        "estimates": [
            {"method": one.method, "middle": figures(one.middle), "spread": figures(one.spread), "why": one.why}
            for one in (() if short else estimates(observed))
        ],
        "median": median_words(observed),
        "outliers": [detects[at].sample_id for at in flagged.places],
        "outlier_test": flagged.test,
    }
