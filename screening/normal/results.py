"""Delivered texts in the normal form: one identity, one unit, one limit a row, or the reason why it is held."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import pandas as pd

from screening.deliverable.layout import Layout
from screening.normal.amounts import amounts
from screening.normal.dates import BOTH, DAY, LOCAL, proofs, read_moment
from screening.normal.impossible import beyond_the_whole
from screening.normal.initials import contradicted
from screening.normal.plausible import listed
from screening.normal.spread import spread
from screening.normal.values import read_number
from screening.vocabulary.analytes import Vocabulary
from screening.vocabulary.qualifiers import read_qualifiers
from screening.vocabulary.sample_names import depth_in
from screening.vocabulary.terms import read_term

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

    frame: pd.DataFrame
    notes: tuple[str, ...]


class _Verdicts:
    """The first problem of each row stands; later ones would only follow from it."""

    def __init__(self, index: pd.Index) -> None:
        self.table = pd.DataFrame({"class": "", "held_field": "", "reason": "", "proposal": ""}, index=index, dtype="str")

    def hold(self, where: pd.Series, field: str | pd.Series, reason: str | pd.Series, proposal: str | pd.Series = "") -> None:
        self._mark(where, "held", field, reason, proposal)

    def ignore(self, where: pd.Series, reason: str) -> None:
        self._mark(where, "ignored", "", reason, "")

    def _mark(self, where: pd.Series, what: str, field: object, reason: object, proposal: object) -> None:
        free = where.astype(bool) & (self.table["class"] == "")
        if free.any():
            for name, value in (("class", what), ("held_field", field), ("reason", reason), ("proposal", proposal)):
                taken = value.fillna("").astype("str") if isinstance(value, pd.Series) else str(value)
                self.table[name] = self.table[name].mask(free, taken)


def normalise(rows: pd.DataFrame, layout: Layout, vocabulary: Vocabulary, dates: Mapping[str, str] | None = None) -> Normal:
    """Bring extracted rows (texts, see `screening.deliverable.extract`) into the normal form.

    Amounts are texts of exact decimals in mg/kg for solids and ug/L for waters; nothing is rounded. A problem in a
    quality-control row does not hold it: what cannot be read there stays empty. ``dates`` are the proofs of the order of
    day and month in the whole file, where these rows are a part of it.
    """
    out = rows[["sheet", "row", "column", "text", *CARRIED]].copy()
    verdicts = _Verdicts(rows.index)
    notes: list[str] = []
    kind = _term(rows, "sample_kind", verdicts, notes).replace("", "field")
    identity = spread(
        [rows["analyte"], rows["cas"]],
        vocabulary.identify,
        ["analyte", "cas", "kind", "fraction", "notes", "problem", "field", "proposal"],
    )
    kind = kind.mask(identity["kind"] == "surrogate", "surrogate").mask(identity["kind"] == "tentative", "tentative")
    compared = kind.isin(COMPARED_KINDS)
    medium = _term(rows, "medium", verdicts, notes, compared)
    verdicts.hold(
        (verdicts.table["class"] == "") & (medium == "") & compared, "medium", "the medium is blank", "soil | groundwater"
    )
    verdicts.hold(identity["problem"].notna() & compared, identity["field"], identity["problem"], identity["proposal"])
    clash, clash_reason, in_full = contradicted(rows, identity["analyte"])
    verdicts.hold(clash & compared, "analyte", clash_reason, in_full)
    notes += _said(identity["notes"])
    out["medium"], out["sample_kind"] = medium, kind
    out["analyte"] = identity["analyte"].fillna(rows["analyte"])
    out["cas"] = identity["cas"].fillna("")
    out["analyte_kind"] = identity["kind"].fillna("")
    out["fraction"] = _term(rows, "fraction", verdicts, notes, compared)
    out["fraction"] = out["fraction"].mask(out["fraction"] == "", identity["fraction"].fillna(""))
    cells = rows["result"].astype("str")
    marks = _qualifiers(rows, cells, layout, verdicts, compared)
    out["lab_qualifiers"], out["effects"] = marks["letters"], marks["effects"]
    unexplained = (verdicts.table["held_field"] == "qualifiers") & (marks["unknown"] != "")
    given = amounts(rows, medium, marks, layout.decimal, dilution_included=layout.dilution_included)
    compared_now = compared & (out["analyte_kind"] != "tentative")
    for field, reason, proposal in given.problems:
        verdicts.hold(reason.notna() & compared_now, field, reason.fillna(""), proposal)
    for column in given.frame:
        out[column] = given.frame[column]
    notes += given.notes
    too_much, reason, smaller = beyond_the_whole(rows, out)
    verdicts.hold(too_much & compared_now, "unit", reason, smaller)
    _percent(out, verdicts, compared_now)
    _against_medium(out, verdicts, compared_now)
    out["basis"] = _basis(rows, given.frame["unit_basis"], verdicts, notes, compared)
    _samples(rows, out, verdicts, notes)
    _depths(rows, out, layout, verdicts, notes)
    _moments(rows, out, layout, verdicts, notes, dates)
    for name in ("dilution", "percent_solids"):
        read = spread([rows[name]], lambda text: read_number(text, layout.decimal), ["number", "problem"])
        verdicts.hold(read["problem"].notna() & compared, name, read["problem"])
        out[name] = read["number"].map(lambda number: "" if number is None else f"{number:f}")
    verdicts.ignore((given.frame["state"] == "not_analysed") & compared, "not analysed")
    out["recovery"] = out["recovery"].mask(
        (out["sample_kind"] == "surrogate") & (out["recovery"] == ""), given.frame["delivered_number"]
    )
    out["class"] = verdicts.table["class"].mask(
        verdicts.table["class"] == "", compared.map({True: "result", False: "quality_control"}).astype("str")
    )
    for name in ("held_field", "reason", "proposal"):
        out[name] = verdicts.table[name]
    # letters may stand in the result cell, where no field of their own was delivered
    out["delivered_field"] = delivered_at(rows, out["held_field"]).mask(unexplained, marks["unknown"])
    return Normal(out, tuple(dict.fromkeys(notes)))


def delivered_at(rows: pd.DataFrame, fields: pd.Series, prefix: str = "") -> pd.Series:
    """Each row's delivered text of the field named for it; '' where no field is."""
    found = pd.Series("", index=fields.index, dtype="str")
    for field in fields.unique():
        if f"{prefix}{field}" in rows:
            found = found.mask(fields == field, rows[f"{prefix}{field}"])
    return found


def _said(lists: pd.Series) -> list[str]:
    return [note for notes in lists.drop_duplicates() if notes for note in notes]


def _term(rows: pd.DataFrame, what: str, verdicts: _Verdicts, notes: list[str], compared: pd.Series | None = None) -> pd.Series:
    read = spread([rows[what]], lambda text: read_term(what, text), ["value", "problem", "proposal", "note"])
    concerned = read["problem"].notna()
    verdicts.hold(concerned if compared is None else concerned & compared, what, read["problem"], read["proposal"].fillna(""))
    notes += list(read["note"].dropna().unique())
    return read["value"].fillna("").astype("str")


def _qualifiers(rows: pd.DataFrame, cells: pd.Series, layout: Layout, verdicts: _Verdicts, compared: pd.Series) -> pd.DataFrame:
    from screening.normal.values import read_reported

    inside = spread([cells], lambda text: read_reported(text, layout.decimal), ["letters"])["letters"].astype("str")
    together = (inside + " " + rows["qualifiers"]).str.strip()
    read = spread([together], lambda text: read_qualifiers(text, layout.qualifiers), ["letters", "effects", "unknown"])
    unknown = read["unknown"].map(lambda letters: ", ".join(letters))
    reason = (
        "qualifier " + unknown + " is in no key; accept it with its effect in the deliverable's own key (--as estimated, "
        "not_detected, none or the like), or state it in the layout ([qualifiers])"
    )
    verdicts.hold((unknown != "") & compared, "qualifiers", reason)
    return pd.DataFrame(
        {
            "letters": read["letters"].map(" ".join).astype("str"),
            "effects": read["effects"].map(lambda effects: " ".join(sorted(effects))).astype("str"),
            "unknown": unknown.astype("str"),
        }
    )


def _percent(out: pd.DataFrame, verdicts: _Verdicts, compared: pd.Series) -> None:
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


def _against_medium(out: pd.DataFrame, verdicts: _Verdicts, compared: pd.Series) -> None:
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


def _basis(rows: pd.DataFrame, of_unit: pd.Series, verdicts: _Verdicts, notes: list[str], compared: pd.Series) -> pd.Series:
    stated = _term(rows, "basis", verdicts, notes, compared)
    clash = (stated != "") & (of_unit != "") & (stated != of_unit)
    verdicts.hold(clash & compared, "basis", "the basis column says " + stated + ", the unit says " + of_unit)
    return stated.mask(stated == "", of_unit)


def _samples(rows: pd.DataFrame, out: pd.DataFrame, verdicts: _Verdicts, notes: list[str]) -> None:
    sample, place = rows["sample_id"], rows["location"]
    if ((sample == "") & (place != "")).any():
        notes.append("no sample number is given in some rows: the location stands for it")
    if ((place == "") & (sample != "")).any():
        notes.append("no location is given in some rows: the sample number stands for it")
    out["sample_id"] = sample.mask(sample == "", place)
    out["sample_id"] = out["sample_id"].mask(out["sample_id"] == "", rows["lab_sample_id"])
    out["location"] = place.mask(place == "", out["sample_id"])
    verdicts.hold((out["sample_id"] == "") & out["sample_kind"].isin(COMPARED_KINDS), "sample_id", "no sample is named")


DEPTH_UNITS = {
    "ft": "ft", "feet": "ft", "foot": "ft", "'": "ft", "ft bgs": "ft", "feet bgs": "ft", "m": "m", "meters": "m", "metres": "m",
    "meter": "m", "metre": "m", "m bgs": "m", "in": "in", "inch": "in", "inches": "in", '"': "in", "cm": "cm",
    "centimeters": "cm", "centimetres": "cm", "centimeter": "cm", "centimetre": "cm",
}  # fmt: skip
_DEPTH_RANGE = re.compile(r"([\d.]+)\s*(?:-|–|to)\s*([\d.]+)(.*)")


def _depths(rows: pd.DataFrame, out: pd.DataFrame, layout: Layout, verdicts: _Verdicts, notes: list[str]) -> None:
    compared = out["sample_kind"].isin(COMPARED_KINDS)
    split = rows["depth_top"].str.extract(_DEPTH_RANGE).fillna("") if len(rows) else pd.DataFrame({0: [], 1: [], 2: []})
    is_range = split[0] != ""
    top = rows["depth_top"].mask(is_range, split[0])
    bottom = rows["depth_bottom"].mask(is_range & (rows["depth_bottom"] == ""), split[1])
    for name, texts in (("depth_top", top), ("depth_bottom", bottom)):
        bare = texts.str.replace(r"\s*(ft|feet|foot|m|metres|meters|cm|in|bgs|ft bgs|')\.?$", "", regex=True)
        read = spread([bare], lambda text: read_number(text, layout.decimal), ["number", "problem"])
        verdicts.hold(read["problem"].notna() & compared, name, "depth: " + read["problem"].fillna(""))
        out[name] = read["number"].map(lambda number: "" if number is None else f"{number:f}")
    unit = rows["depth_unit"].str.lower().str.strip(" .")
    in_cell = rows["depth_top"].str.extract(r"(ft|feet|foot|metres|meters|\bm|\bcm|\bin)\b", expand=False).fillna("")
    used = unit.mask(unit == "", in_cell)
    known = used.replace(DEPTH_UNITS)
    deep = (out["depth_top"] != "") | (out["depth_bottom"] != "")
    strange = deep & ~known.isin(["", *DEPTH_UNITS.values()]) & compared
    verdicts.hold(strange, "depth_unit", "depth unit '" + rows["depth_unit"] + "' is not listed", "ft | m | in")
    out["depth_unit"] = known.mask(~deep, "")
    told = [f"{name}: {found}" for name in out.loc[~deep & compared, "sample_id"].unique() if (found := depth_in(name))]
    if told:
        notes.append(
            f"depths may stand in sample names and are not used: {listed(told)}; --set depth=in_sample_name reads them, "
            "with --set depth_unit=ft or m where the name gives no unit"
        )
    if ((out["depth_unit"] == "") & (out["depth_top"] != "")).any():
        notes.append("depths are given without a unit; they are shown as delivered and decide nothing")


def date_proofs(frames: Iterable[pd.DataFrame]) -> dict[str, str]:
    """The orders of day and month that the dates in the extracted rows of a file prove, each with one such date."""
    return proofs(text for rows in frames for name in MOMENTS for text in rows[name].unique())


def _moments(
    rows: pd.DataFrame, out: pd.DataFrame, layout: Layout, verdicts: _Verdicts, notes: list[str], dates: Mapping[str, str] | None
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
        read = spread([rows[name], rows["time_zone"]], lambda text, zone: read_moment(text, order, zone), names)
        verdicts.hold(read["problem"].notna() & compared, name, read["problem"], read["proposal"].fillna(""))
        notes += list(read["note"].dropna().unique())
        out[name], known = read["iso"].fillna(""), read["known"].astype("str")
        timed = ~known.isin(["", DAY])
        if timed.any() and ((known == LOCAL) & out[name].str.endswith(" 00:00:00"))[timed].all():
            out[name], known = out[name].str.slice(0, 10), known.mask(timed, DAY)
            notes.append(f"{name}: every time of day is 00:00, so the times count as not given")
        out[f"{name}_known"] = known
    if any((out[f"{name}_known"] == LOCAL).any() for name in MOMENTS):
        notes.append("times of day without a time zone are taken as local time")
