"""Detection limits made again from the replicates or blanks of a file, or from the blanks of a site's deliverables."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screening.errors import Refused
from screening.normal.values import read_reported
from screening.quality.shown import counted
from screening.screen.statistics.detection_limit import Limit, from_blanks, from_spikes, pooled
from screening.screen.statistics.shown import figures
from screening.store.intake import Order, read_deliverable
from screening.store.sites import site_of
from screening.store.snapshot import known_on, load
from screening.store.taught import Taught
from screening.vocabulary.units import read_unit

if TYPE_CHECKING:
    import duckdb

SPIKED = ("lab_control", "lab_control_duplicate", "field")
"""Sample kinds that count as spiked replicates in a file of a study; a file without sample kinds holds nothing else."""
UNSTATED = {"sample_id": "study", "medium": "other"}
"""What a file of a study need not state: it names no sample of a site, and a medium only where units ask for one."""
BATCHES = 3
"""Batches, each of a day of its own, that the procedure asks for."""
READ = "Wis. Admin. Code NR 252.0365 (read)"
RECALLED = "40 CFR 136 Appendix B, Revision 2 of 2017 (recalled)"
_BLANKS = """
SELECT k.analyte, k.method, k.unit, k.detected, k.value, v.result, v.unit, k.medium, k.batch, CAST(k.analysed_at AS DATE)
FROM known AS k JOIN delivered AS v USING (row_id)
WHERE k.sample_kind = 'method_blank' AND k.unit IN ('mg/kg', 'ug/L') AND k.state <> 'not_analysed'
ORDER BY k.analyte, k.method, k.unit, k.row_id
"""
_DELIVERED = """
SELECT analyte, method, unit, min(detection_limit), max(detection_limit) FROM known
WHERE class = 'result' AND detection_limit IS NOT NULL AND coalesce(dilution, 1) = 1 GROUP BY ALL
"""
Key = tuple[str, str, str]
"""Analyte, method, unit."""


@dataclass
class Study:
    """The replicates and blanks of one analyte by one method; ``bare`` counts blanks without a number."""

    spiked: list[Decimal] = field(default_factory=list)
    blanks: list[Decimal] = field(default_factory=list)
    bare: int = 0
    added: set[Decimal] = field(default_factory=set)
    batches: set[str] = field(default_factory=set)
    days: set[str] = field(default_factory=set)


def limits_of_files(paths: Sequence[Path], layout_settings: Mapping[str, str], analyte: str = "") -> dict[str, Any]:
    """The limits of each file's study; of two files the two sets pooled as well. Raises `Refused`."""
    if len(paths) > 2:
        raise Refused("more than two files: the procedure pools two sets; name one or two")
    read = [_read(path, layout_settings) for path in paths]
    studies, notes = [one[0] for one in read], [note for one in read for note in one[1]]
    limits: list[dict[str, Any]] = []
    for path, study in zip(paths, studies, strict=True):
        limits += [
            _limit(path.name, key, one) for key, one in sorted(study.items()) if analyte.casefold() in ("", key[0].casefold())
        ]
    if len(studies) == 2:
        for key in sorted(set(studies[0]) & set(studies[1])):
            one, two = studies[0][key].spiked, studies[1][key].spiked
            if one and two and analyte.casefold() in ("", key[0].casefold()):
                limits.append(
                    _row(
                        "both files",
                        key,
                        len(one) + len(two),
                        "two sets, pooled",
                        READ,
                        *_made(lambda one=one, two=two: pooled(one, two)),
                    )
                )
    if not limits:
        names = ", ".join(sorted({key[0] for study in studies for key in study})) or "none"
        raise Refused(f"no replicate and no blank{f' of {analyte}' if analyte else ''} is found; the files hold {names}")
    return {"limits": limits, "notes": notes}


def limits_of_site(connection: duckdb.DuckDBPyConnection, site: str, analyte: str = "") -> dict[str, Any]:
    """The limit that the method blanks of all deliverables give, beside the detection limits delivered. Raises `Refused`."""
    site_of(connection, site)
    load(connection, known_on(connection, site, None))
    studies: dict[Key, Study] = defaultdict(Study)
    for name, method, unit, detected, value, text, delivered_unit, medium, batch, day in connection.execute(_BLANKS).fetchall():
        amount = value if detected and value is not None else _below_zero(text, delivered_unit, medium)
        _add(studies[name, method, unit], "method_blank", amount, None, batch, str(day or ""))
    delivered = {tuple(row[:3]): row[3:] for row in connection.execute(_DELIVERED).fetchall()}
    limits = []
    for key, study in sorted(studies.items()):
        if analyte.casefold() in ("", key[0].casefold()):
            limits.append(_beside_delivered(_limit("method blanks of the site", key, study), delivered.get(key)))
    if not limits:
        raise Refused(
            f"site '{site}' has no method blank{f' of {analyte}' if analyte else ''}; detection limits cannot be made from it"
        )
    return {"site": site, "limits": limits, "notes": []}


def _read(path: Path, settings: Mapping[str, str]) -> tuple[dict[Key, Study], list[str]]:
    reading = read_deliverable(path, Order("", settings={**UNSTATED, **settings}), Taught({}, {}))
    frame, studies, unread = reading.frame, defaultdict[Key, Study](Study), 0
    for row in frame.records():
        kind = str(row["sample_kind"])
        if kind not in (*SPIKED, "method_blank"):
            continue
        unit = read_unit(str(row["delivered_unit"]), str(row["medium"]) or None)
        reported = read_reported(str(row["delivered_result"]))
        if unit.problem or unit.unit not in ("mg/kg", "ug/L") or reported.problem:
            unread += 1
            continue
        number = unit.convert(reported.number) if reported.state == "number" and reported.number is not None else None
        added = read_reported(str(row["delivered_spike_amount"]))
        _add(
            studies[str(row["analyte"]), str(row["method"]), unit.unit], kind, number,
            unit.convert(added.number) if added.number is not None else None, str(row["batch"]), str(row["analysed_at"] or "")[:10],
        )  # fmt: skip
    notes = [f"{path.name}: {unread} rows could not be read (unit or result) and take no part"] if unread else []
    return studies, notes


def _add(study: Study, kind: str, amount: Decimal | None, added: Decimal | None, batch: str, day: str) -> None:
    if kind == "method_blank":
        study.bare += amount is None
        study.blanks += [] if amount is None else [amount]
    elif amount is not None:
        study.spiked.append(amount)
    else:
        study.spiked.append(Decimal(0))  # a spike that was not found: too low to make a limit of
    study.added |= set() if added is None else {added}
    study.batches |= {batch.strip().lower()} - {""}
    study.days |= {day} - {""}


def _below_zero(text: str, unit_text: str, medium: str) -> Decimal | None:
    """The amount of a blank delivered as a number of 0 or below; None for one without a number."""
    reported, unit = read_reported(text), read_unit(unit_text, medium or None)
    if reported.state != "number" or reported.number is None or reported.number >= 0 or unit.problem:
        return None
    return unit.convert(reported.number)


def _made(make: Any) -> tuple[Limit | None, str]:
    try:
        return make(), ""
    except Refused as error:
        return None, str(error)


def _limit(source: str, key: Key, study: Study) -> dict[str, Any]:
    """The limit of one study: from replicates, from blanks, and the higher of both."""
    parts = []
    if study.spiked:
        parts.append(_row(source, key, len(study.spiked), "spiked replicates", READ, *_made(lambda: from_spikes(study.spiked))))
    if study.blanks or study.bare:
        made = _made(lambda: from_blanks(study.blanks, study.bare))
        parts.append(_row(source, key, len(study.blanks) + study.bare, "method blanks", RECALLED, *made))
    stated = [part for part in parts if part["limit"] is not None]
    best = max(stated, key=lambda part: Decimal(part["limit"]), default=parts[0])
    notes = [best["note"], *_doubts(study, best)]
    if len(parts) == 1 and parts[0]["from"] == "spiked replicates":
        notes.append("no blanks are given: the procedure of 2017 takes the higher of both")
    how = "the higher of replicates and blanks" if len(stated) == 2 else best["from"]
    return {**best, "from": how, "note": "; ".join(filter(None, notes)), "parts": parts if len(parts) > 1 else []}


def _doubts(study: Study, best: Mapping[str, Any]) -> list[str]:
    """What of the procedure the study does not keep."""
    if best["limit"] is None:
        return []
    said = []
    if len(study.batches) < BATCHES or len(study.days) < BATCHES:
        seen = f"{counted(len(study.batches), 'batch', 'batches')} and {counted(len(study.days), 'day')}"
        said.append(f"the procedure asks for {BATCHES} batches on {BATCHES} days, and {seen} are stated")
    limit = Decimal(best["limit"]) if best["limit"] is not None else None
    for added in sorted(study.added) if limit else []:
        if limit is not None and not 2 * limit <= added <= 10 * limit:
            said.append(f"the spike of {added.normalize():f} does not lie between 2 and 10 times the limit: repeat it nearer")
    return said


def _row(source: str, key: Key, n: int, how: str, citation: str, made: Limit | None, why: str) -> dict[str, Any]:
    analyte, method, unit = key
    numbers = {name: figures(getattr(made, name)) if made else None for name in ("mean", "sd", "t", "limit", "low", "high")}
    return {
        "source": source, "analyte": analyte, "method": method, "unit": unit, "from": how, "n": n, **numbers,
        "note": made.note if made else f"not computed: {why}", "citation": citation,
    }  # fmt: skip


def _beside_delivered(row: dict[str, Any], delivered: Sequence[Decimal] | None) -> dict[str, Any]:
    """The limit beside the detection limits of undiluted results; a lower one than the blanks give is named."""
    if delivered is None:
        return {**row, "delivered": None}
    low, high = (f"{amount.normalize():f}" for amount in delivered)
    note = row["note"]
    if row["limit"] is not None and delivered[0] < Decimal(row["limit"]):
        note = "; ".join(
            filter(None, [note, f"the detection limit delivered, {low}, lies below what the blanks show: ask the laboratory"])
        )
    return {**row, "delivered": {"low": low, "high": high}, "note": note}
