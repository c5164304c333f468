"""Delivered texts in the normal form: one identity, one unit, one limit a row, or the reason why it is held."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from screening.deliverable.columns import Column, Frame, spread, spread_parts
from screening.deliverable.layout import Layout
from screening.normal.amounts import amounts
from screening.normal.dates import BOTH, DAY, LOCAL, proofs, read_moment
from screening.normal.impossible import beyond_the_whole
from screening.normal.initials import contradicted
from screening.normal.told import listed
from screening.normal.values import read_number, read_reported
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.qualifiers import read_qualifiers
from screening.vocabulary.sample_names import depth_in
from screening.vocabulary.terms import read_term

if TYPE_CHECKING:
    from screening.deliverable.columns import Flags

MOMENTS = ("sampled_at", "received_at", "prepared_at", "analysed_at")
CARRIED = [
    "lab_sample_id",
    "parent_sample",
    "lab",
    "method",
    "batch",
    "run_no",
    "recovery",
    "recovery_low",
    "recovery_high",
    "spike_amount",
    "received_temperature",
    "comment",
]
COMPARED_KINDS = ("field", "field_duplicate")
"""Sample kinds whose results are held against levels; all others are quality control."""


@dataclass(frozen=True)
class Normal:
    """``frame`` has one row a delivered row and a ``class`` of result, quality_control, held or ignored; held rows
    have field, reason and proposal, ignored rows a reason. ``notes`` are the assumptions made."""

    frame: Frame
    notes: tuple[str, ...]


class _Verdicts:
    """The first problem of each row stands; later ones would only follow from it."""

    def __init__(self, length: int) -> None:
        self.free: Flags = np.ones(length, dtype=np.bool_)
        self.table = {name: Column.full("", length) for name in ("class", "held_field", "reason", "proposal")}

    def hold(self, where: Flags, field: str | Column, reason: str | Column, proposal: str | Column = "") -> None:
        self._mark(where, "held", field, reason, proposal)

    def hold_problems(self, concerned: Flags, field: str, problem: Column, proposal: str | Column = "") -> None:
        """Hold the rows concerned that have a problem; None is none."""
        self.hold((problem != None) & concerned, field, problem, proposal)  # noqa: E711 - a column answers row by row

    def ignore(self, where: Flags, reason: str) -> None:
        self._mark(where, "ignored", "", reason, "")

    def _mark(self, where: Flags, what: str, *told: str | Column) -> None:
        marked = where & self.free
        if marked.any():
            for name, value in zip(("class", "held_field", "reason", "proposal"), (what, *told), strict=True):
                self.table[name] = self.table[name].mask(marked, _text(value) if isinstance(value, Column) else value)
            self.free = self.free & ~marked


def _text(column: Column) -> Column:
    """The column with '' for None."""
    return column.replace({None: ""})


def normalise(rows: Frame, layout: Layout, vocabulary: Vocabulary, dates: Mapping[str, str] | None = None) -> Normal:
    """Bring extracted rows (texts, see `screening.deliverable.extract`) into the normal form.

    Amounts are texts of exact decimals in mg/kg for solids and ug/L for waters; nothing is rounded. A problem in a
    quality-control row does not hold it: what cannot be read there stays empty. ``dates`` are the proofs of the order of
    day and month in the whole file, where these rows are a part of it.
    """
    out = Frame({name: rows[name] for name in ("sheet", "column", "text", *CARRIED)}, rows.row)
    verdicts = _Verdicts(len(rows))
    notes: list[str] = []
    kind = _term(rows, "sample_kind", verdicts, notes).replace({"": "field"})
    identity = spread_parts(
        [rows["analyte"], rows["cas"]],
        vocabulary.identify,
        ["analyte", "cas", "kind", "fraction", "notes", "problem", "field", "proposal"],
    )
    kind = kind.mask(identity["kind"] == "surrogate", "surrogate").mask(identity["kind"] == "tentative", "tentative")
    compared = kind.isin(COMPARED_KINDS)
    medium = _term(rows, "medium", verdicts, notes, compared)
    verdicts.hold((medium == "") & compared, "medium", "the medium is blank", "soil | groundwater")
    unsettled = identity["problem"].flags(lambda problem: problem is not None)
    verdicts.hold(unsettled & compared, identity["field"], identity["problem"], identity["proposal"])
    clash, clash_reason, in_full = contradicted(rows, identity["analyte"])
    verdicts.hold(clash & compared, "analyte", clash_reason, in_full)
    notes += _said(identity["notes"])
    out["medium"], out["sample_kind"] = medium, kind
    out["analyte"] = identity["analyte"].mask(identity["analyte"] == None, rows["analyte"])  # noqa: E711
    out["cas"] = _text(identity["cas"])
    out["analyte_kind"] = _text(identity["kind"])
    fraction = _term(rows, "fraction", verdicts, notes, compared)
    out["fraction"] = fraction.mask(fraction == "", _text(identity["fraction"]))
    marks = _qualifiers(rows, layout, verdicts, compared)
    out["lab_qualifiers"], out["effects"] = marks["letters"], marks["effects"]
    unexplained = (verdicts.table["held_field"] == "qualifiers") & (marks["unknown"] != "")
    given = amounts(rows, medium, marks["effects"], layout.decimal, dilution_included=layout.dilution_included)
    compared_now = compared & (out["analyte_kind"] != "tentative")
    for problem in given.problems:
        verdicts.hold_problems(compared_now, problem.field, problem.reasons, problem.proposals)
    for name, column in given.columns.items():
        out[name] = column
    notes += given.notes
    too_much, reason, smaller = beyond_the_whole(rows, out)
    verdicts.hold(too_much & compared_now, "unit", reason, smaller)
    _percent(out, verdicts, compared_now)
    _against_medium(out, verdicts, compared_now)
    out["basis"] = _basis(rows, given.columns["unit_basis"], verdicts, notes, compared)
    _samples(rows, out, verdicts, notes)
    _depths(rows, out, layout, verdicts, notes)
    _moments(rows, out, layout, verdicts, notes, dates)
    for name in ("dilution", "percent_solids"):
        out[name] = _plain_number(rows[name], name, layout, verdicts, compared)
    verdicts.ignore((given.columns["state"] == "not_analysed") & compared, "not analysed")
    unstated = (out["sample_kind"] == "surrogate") & (out["recovery"] == "")
    out["recovery"] = out["recovery"].mask(unstated, given.columns["delivered_number"])
    taken = Column.full("quality_control", len(rows)).mask(compared, "result")
    out["class"] = verdicts.table["class"].mask(verdicts.table["class"] == "", taken)
    for name in ("held_field", "reason", "proposal"):
        out[name] = verdicts.table[name]
    # letters may stand in the result cell, where no field of their own was delivered
    out["delivered_field"] = delivered_at(rows, out["held_field"]).mask(unexplained, marks["unknown"])
    return Normal(out, tuple(dict.fromkeys(notes)))


def delivered_at(rows: Frame, fields: Column, prefix: str = "") -> Column:
    """Each row's delivered text of the field named for it; '' where no field is."""
    found = Column.full("", len(fields))
    for field in fields.unique():
        if f"{prefix}{field}" in rows:
            found = found.mask(fields == field, rows[f"{prefix}{field}"])
    return found


def _said(lists: Column) -> list[str]:
    return [note for notes in lists.unique() if notes for note in notes]


def _some(column: Column) -> list[str]:
    """The distinct values that are not None."""
    return [value for value in column.unique() if value is not None]


def _plain_number(texts: Column, name: str, layout: Layout, verdicts: _Verdicts, compared: Flags, told: str = "") -> Column:
    """A number that stands for itself, as exact text; '' where there is none."""

    def problem(text: str) -> str | None:
        found = read_number(text, layout.decimal).problem
        return found and f"{told}{found}"

    def number(text: str) -> str:  # as text at once: decimals of equal size are one value to a column, whatever their digits
        found = read_number(text, layout.decimal).number
        return "" if found is None else f"{found:f}"

    verdicts.hold_problems(compared, name, texts.map(problem))
    return texts.map(number)


def _term(rows: Frame, what: str, verdicts: _Verdicts, notes: list[str], compared: Flags | None = None) -> Column:
    read = spread_parts([rows[what]], lambda text: read_term(what, text), ["value", "problem", "proposal", "note"])
    everywhere = np.ones(len(rows), dtype=np.bool_)
    verdicts.hold_problems(everywhere if compared is None else compared, what, read["problem"], read["proposal"])
    notes += _some(read["note"])
    return _text(read["value"])


def _qualifiers(rows: Frame, layout: Layout, verdicts: _Verdicts, compared: Flags) -> dict[str, Column]:
    inside = rows["result"].map(lambda text: read_reported(text, layout.decimal).letters)
    together = spread([inside, rows["qualifiers"]], lambda one, two: f"{one} {two}".strip())
    read = spread_parts([together], lambda text: read_qualifiers(text, layout.qualifiers), ["letters", "effects", "unknown"])
    unknown = read["unknown"].map(", ".join)
    reason = (
        "qualifier " + unknown + " is in no key; accept it with its effect in the deliverable's own key (--as estimated, "
        "not_detected, none or the like), or state it in the layout ([qualifiers])"
    )
    verdicts.hold((unknown != "") & compared, "qualifiers", reason)
    effects = read["effects"].map(lambda effects: " ".join(sorted(effects)))
    return {"letters": read["letters"].map(" ".join), "effects": effects, "unknown": unknown}


def _percent(out: Frame, verdicts: _Verdicts, compared: Flags) -> None:
    substance = out["analyte_kind"].isin(["substance", "sum", "range", "species"])
    verdicts.hold(
        (out["unit_kind"] == "percent") & substance & compared,
        "sample_kind",
        "a percentage is no concentration; is this the recovery of a surrogate or spike?",
        "surrogate",
    )
    verdicts.hold(
        (out["unit_kind"] == "other") & substance & compared,
        "unit",
        "the unit " + out["unit"] + " is no concentration",
    )


def _against_medium(out: Frame, verdicts: _Verdicts, compared: Flags) -> None:
    solid = out["medium"].isin(["soil", "sediment"])
    water = out["medium"].isin(["groundwater", "surface_water", "other_water"])
    leachate = out["fraction"] == "leachate"
    verdicts.hold(
        solid & (out["unit_kind"] == "mass_per_volume") & ~leachate & compared,
        "fraction",
        "an amount per litre in a solid: a leachate test, or the wrong unit or medium?",
        "leachate",
    )
    verdicts.hold(
        water & (out["unit_kind"] == "mass_per_mass") & compared,
        "medium",
        "an amount per mass in a water: wrong unit or medium?",
        "soil | sediment",
    )


def _basis(rows: Frame, of_unit: Column, verdicts: _Verdicts, notes: list[str], compared: Flags) -> Column:
    stated = _term(rows, "basis", verdicts, notes, compared)
    clash = (stated != "") & (of_unit != "") & (stated != of_unit)
    verdicts.hold(clash & compared, "basis", "the basis column says " + stated + ", the unit says " + of_unit)
    return stated.mask(stated == "", of_unit)


def _samples(rows: Frame, out: Frame, verdicts: _Verdicts, notes: list[str]) -> None:
    sample, place = rows["sample_id"], rows["location"]
    nameless, placeless = sample == "", place == ""
    if (nameless & ~placeless).any():
        notes.append("no sample number is given in some rows: the location stands for it")
    if (placeless & ~nameless).any():
        notes.append("no location is given in some rows: the sample number stands for it")
    named = sample.mask(nameless, place)
    out["sample_id"] = named.mask(named == "", rows["lab_sample_id"])
    out["location"] = place.mask(placeless, out["sample_id"])
    verdicts.hold((out["sample_id"] == "") & out["sample_kind"].isin(COMPARED_KINDS), "sample_id", "no sample is named")


DEPTH_UNITS = {
    "ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "ft bgs": "ft", "feet bgs": "ft", "m": "m", "meters": "m", "metres": "m",
    "meter": "m", "metre": "m", "m bgs": "m", "in": "in", "inch": "in", "inches": "in", '"': "in", "cm": "cm",
    "centimeters": "cm", "centimetres": "cm", "centimeter": "cm", "centimetre": "cm",
}  # fmt: skip
_DEPTH_RANGE = re.compile(r"([\d.]+)\s*(?:-|–|to)\s*([\d.]+)(.*)")
_DEPTH_UNIT_BEHIND = re.compile(r"\s*(ft|feet|foot|m|metres|meters|cm|in|bgs|ft bgs|')\.?$")
_DEPTH_UNIT_IN_CELL = re.compile(r"(ft|feet|foot|metres|meters|\bm|\bcm|\bin)\b")


def _end_of_range(end: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        found = _DEPTH_RANGE.search(text)
        return found[end] if found else ""

    return read


def _unit_in_cell(text: str) -> str:
    found = _DEPTH_UNIT_IN_CELL.search(text)
    return found[1] if found else ""


def _depths(rows: Frame, out: Frame, layout: Layout, verdicts: _Verdicts, notes: list[str]) -> None:
    compared = out["sample_kind"].isin(COMPARED_KINDS)
    upper, lower = rows["depth_top"].map(_end_of_range(1)), rows["depth_top"].map(_end_of_range(2))
    is_range = upper != ""
    top = rows["depth_top"].mask(is_range, upper)
    bottom = rows["depth_bottom"].mask(is_range & (rows["depth_bottom"] == ""), lower)
    for name, texts in (("depth_top", top), ("depth_bottom", bottom)):
        bare = texts.map(lambda text: _DEPTH_UNIT_BEHIND.sub("", text))
        out[name] = _plain_number(bare, name, layout, verdicts, compared, "depth: ")
    unit = rows["depth_unit"].map(lambda text: text.lower().strip(" ."))
    known = unit.mask(unit == "", rows["depth_top"].map(_unit_in_cell)).replace(DEPTH_UNITS)
    deep = (out["depth_top"] != "") | (out["depth_bottom"] != "")
    strange = deep & ~known.isin(["", *DEPTH_UNITS.values()]) & compared
    verdicts.hold(strange, "depth_unit", "depth unit '" + rows["depth_unit"] + "' is not listed", "ft | m | in")
    out["depth_unit"] = known.mask(~deep, "")
    shallow = out["sample_id"].take(~deep & compared).unique()
    told = [f"{name}: {found}" for name in shallow if (found := depth_in(name))]
    if told:
        notes.append(
            f"depths may stand in sample names and are not used: {listed(told)}; --set depth=in_sample_name reads them, "
            "with --set depth_unit=ft or m where the name gives no unit"
        )
    if ((out["depth_unit"] == "") & (out["depth_top"] != "")).any():
        notes.append("depths are given without a unit; they are shown as delivered and decide nothing")


def date_proofs(frames: Iterable[Frame]) -> dict[str, str]:
    """The orders of day and month that the dates in the extracted rows of a file prove, each with one such date."""
    return proofs(text for rows in frames for name in MOMENTS for text in rows[name].unique())


def _moments(
    rows: Frame, out: Frame, layout: Layout, verdicts: _Verdicts, notes: list[str], dates: Mapping[str, str] | None
) -> None:
    compared = out["sample_kind"].isin(COMPARED_KINDS)
    proved = date_proofs([rows]) if dates is None else dates
    order = layout.date_order or (BOTH if len(proved) == 2 else next(iter(proved), None))
    if not layout.date_order and order == BOTH:
        notes.append(
            f"numeric dates stand in both orders ('{proved['dmy']}' and '{proved['mdy']}'): none settles the others, "
            "and dates with two readings are held"
        )
    elif order and not layout.date_order:
        words = {"mdy": "month/day/year", "dmy": "day/month/year"}[order]
        notes.append(f"numeric dates read as {words}: other dates of the file allow no other order")
    for name in MOMENTS:
        names = ["iso", "known", "problem", "proposal", "note"]
        read = spread_parts([rows[name], rows["time_zone"]], lambda text, zone: read_moment(text, order, zone), names)
        verdicts.hold_problems(compared, name, read["problem"], read["proposal"])
        notes += _some(read["note"])
        out[name], known = _text(read["iso"]), read["known"]
        timed = ~known.isin(["", DAY])
        if timed.any() and ((known == LOCAL) & out[name].flags(lambda iso: iso.endswith(" 00:00:00")))[timed].all():
            out[name], known = out[name].map(lambda iso: iso[:10]), known.mask(timed, DAY)
            notes.append(f"{name}: every time of day is 00:00, so the times count as not given")
        out[f"{name}_known"] = known
    if any((out[f"{name}_known"] == LOCAL).any() for name in MOMENTS):
        notes.append("times of day without a time zone are taken as local time")
