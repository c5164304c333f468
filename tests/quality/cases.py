"""One passing, one failing, one boundary and one not-checkable case of every check; all data are invented.

The figures of the criteria are those of the shipped edition, whose rows name where each was seen: 14 days for volatiles in
water and 30 % for duplicates (second-hand), 6 and 10 degrees, five times a blank, 30 % dissolved above total (read); lower
limits of recoveries are the laboratory's own, those of the cases are invented; 30 % solids (recalled).
"""

from __future__ import annotations

from dataclasses import dataclass, field

KINDS = ("passing", "failing", "boundary", "not_checkable")
WATER = {"medium": "groundwater", "unit": "ug/L", "method": "8260", "sample_kind": "field", "analyte": "Benzene", "result": "9"}
SOIL = {"medium": "soil", "unit": "mg/kg", "basis": "dry", "sample_kind": "field", "analyte": "Benzene", "result": "9"}
PERCENT = {"unit": "%", "result": "", "recovery_low": "70", "recovery_high": "130"}
Row = dict[str, object]


@dataclass(frozen=True)
class Case:
    """What the grid of a review says of one sample; ``file`` is the deliverable that its rows stand in."""

    check: str
    kind: str
    state: str
    rows: list[Row] = field(hash=False)
    file: str = "main"

    @property
    def sample(self) -> str:
        """The sample concerned."""
        return str(self.rows[0]["sample_id"])


def case(check: str, kind: str, state: str, own: Row, *more: Row, base: Row = WATER, file: str = "main") -> Case:
    """A case: the row of its sample, and rows beside it (of the same batch, and sample unless they name another)."""
    name = f"{check}-{kind}"
    first = {"sample_id": name, "batch": name, **base, **own}
    beside = {key: first[key] for key in ("sample_id", "batch", "medium", "unit", "method", "analyte", "basis") if key in first}
    return Case(check, kind, state, [first, *({**beside, **row} for row in more)], file)


def _dated(days: int) -> Row:
    return {"result": "<1", "sampled_at": "2025-05-01", "analysed_at": f"2025-05-{1 + days:02d}"}


def _blank(kind: str, day: int, amount: str) -> tuple[Row, Row]:
    at = {"sampled_at": f"2025-06-{day:02d}", "received_at": f"2025-06-{day:02d}"}
    return {"result": amount, "reporting_limit": "1", **at}, {
        "sample_id": f"{kind}-{day}",
        "sample_kind": kind,
        "result": "2",
        **at,
    }


def _blanks(kind: str, day: int) -> list[Case]:
    without: Row = {"sampled_at": f"2025-06-{day + 3:02d}", "received_at": f"2025-06-{day + 3:02d}"}
    return [
        case(kind, "passing", "ok", *_blank(kind, day, "10.1")),
        case(kind, "failing", "biased_high", *_blank(kind, day + 1, "3")),
        case(kind, "boundary", "biased_high", *_blank(kind, day + 2, "10")),
        case(kind, "not_checkable", "not_checked", without),
    ]


def _recovery(check: str, kind: str, state: str, percent: str, **more: object) -> Case:
    name = f"{check}-{kind}"
    of_sample = {"parent_sample": name} if check == "matrix_spike" else {}
    sample = name if check == "surrogate" else f"{name} QC"
    analyte = {"analyte": "Toluene-d8"} if check == "surrogate" else {}
    return case(
        check,
        kind,
        state,
        {},
        {"sample_id": sample, "sample_kind": check, **PERCENT, **of_sample, **analyte, "recovery": percent, **more},
    )


def _pair(check: str, kind: str, state: str, one: Row, two: Row) -> Case:
    first = check.removesuffix("_duplicate")
    name = f"{check}-{kind}"
    both = {"result": "", "parent_sample": name if first == "matrix_spike" else ""}
    return case(
        check, kind, state, {}, {"sample_id": f"{name} 1", "sample_kind": first, **both, **one},
        {"sample_id": f"{name} 2", "sample_kind": check, **both, **two},
    )  # fmt: skip


def _twins(check: str, kind: str, state: str, one: str, two: str, limit: str = "1") -> Case:
    name = f"{check}-{kind}"
    other = f"{name} D" if check == "field_duplicate" else name
    return case(
        check, kind, state, {"result": one, "reporting_limit": limit},
        {"sample_id": other, "sample_kind": check, "parent_sample": name, "result": two, "reporting_limit": limit},
    )  # fmt: skip


def _fractions(kind: str, state: str, dissolved: str) -> Case:
    lead: Row = {"analyte": "Lead", "method": "6010", "fraction": "total", "reporting_limit": "1", "result": "100"}
    more: list[Row] = (
        [{"fraction": "dissolved", "reporting_limit": "1", "sample_kind": "field", "result": dissolved}] if dissolved else []
    )
    return case("total_and_dissolved", kind, state, lead, *more)


def _xylenes(kind: str, state: str, *parts: str) -> Case:
    names = ("m,p-Xylene", "o-Xylene")
    more = [{"analyte": name, "result": text, "sample_kind": "field"} for name, text in zip(names, parts, strict=False)]
    return case("sums", kind, state, {"analyte": "Total xylenes", "result": "30"}, *more)


def _limits(kind: str, state: str, one: Row, two: Row, base: Row) -> Case:
    return case(
        "adjusted_limits",
        kind,
        state,
        {"method": kind, **one},
        {"sample_id": f"{kind} 2", "sample_kind": "field", **two},
        base=base,
    )


CUSTODY = (("ALDER-1", "2025-05-06"), ("BIRCH-2", "2025-05-07"), ("CEDAR-3", "06/05/2025"))
"""The custody record: samples and dates of collection; the last may be 6 May or 5 June."""


def _custody(kind: str, state: str, sample: str) -> Case:
    return case("custody", kind, state, {"sample_id": sample, "sampled_at": "2025-05-06"}, file="custody")


CASES = (
    case("holding_time", "passing", "ok", _dated(9)),
    case("holding_time", "failing", "open", _dated(15)),
    case("holding_time", "boundary", "ok", _dated(14)),
    case("holding_time", "not_checkable", "not_checked", {"result": "<1"}),
    case("temperature", "passing", "ok", {"received_temperature": "4.2"}),
    case("temperature", "failing", "estimated", {"received_temperature": "10.1"}),
    case("temperature", "boundary", "ok", {"received_temperature": "6"}),
    case("temperature", "not_checkable", "not_checked", {"received_temperature": "39 F"}),
    case("preservation", "passing", "ok", {"comment": "acidified in the field"}),
    case("preservation", "failing", "open", {"comment": "not preserved", **_dated(8)}),
    case("preservation", "boundary", "note", {"comment": "not preserved", **_dated(7)}),
    case("preservation", "not_checkable", "not_checked", {"comment": "vial broken"}),
    case("method_blank", "passing", "ok", {"result": "10.1"}, {"sample_id": "MB 1", "sample_kind": "method_blank", "result": "2"}),
    case("method_blank", "failing", "biased_high", {"result": "3"}, {"sample_id": "MB 2", "sample_kind": "method_blank", "result": "2"}),
    case("method_blank", "boundary", "biased_high", {"result": "10"}, {"sample_id": "MB 3", "sample_kind": "method_blank", "result": "2"}),
    case("method_blank", "not_checkable", "not_checked", {"result": "3"}),
    *_blanks("trip_blank", 1),
    *_blanks("field_blank", 11),
    *_blanks("equipment_blank", 21),
    _recovery("lab_control", "passing", "ok", "100"),
    _recovery("lab_control", "failing", "biased_low", "69.9"),
    _recovery("lab_control", "boundary", "ok", "70"),
    _recovery("lab_control", "not_checkable", "not_checked", ""),
    _recovery("matrix_spike", "passing", "ok", "100"),
    _recovery("matrix_spike", "failing", "biased_low", "69.9"),
    _recovery("matrix_spike", "boundary", "ok", "70"),
    _recovery("matrix_spike", "not_checkable", "not_checked", "100", parent_sample="elsewhere"),
    _recovery("surrogate", "passing", "ok", "100"),
    _recovery("surrogate", "failing", "biased_low", "69.9"),
    _recovery("surrogate", "boundary", "ok", "70"),
    _recovery("surrogate", "not_checkable", "not_checked", "100", method="8270"),
    _pair("matrix_spike_duplicate", "passing", "ok", {"result": "85"}, {"result": "100"}),
    _pair("matrix_spike_duplicate", "failing", "estimated", {"result": "85"}, {"result": "115.1"}),
    _pair("matrix_spike_duplicate", "boundary", "ok", {"result": "85"}, {"result": "115"}),
    _pair("matrix_spike_duplicate", "not_checkable", "not_checked", {"result": "85"}, {"result": "ND"}),
    _pair("lab_control_duplicate", "passing", "ok", {"recovery": "85"}, {"recovery": "100"}),
    _pair("lab_control_duplicate", "failing", "estimated", {"recovery": "85"}, {"recovery": "115.1"}),
    _pair("lab_control_duplicate", "boundary", "ok", {"recovery": "85"}, {"recovery": "115"}),
    _pair("lab_control_duplicate", "not_checkable", "not_checked", {"recovery": "85"}, {"recovery": ""}),
    _twins("field_duplicate", "passing", "ok", "100", "110"),
    _twins("field_duplicate", "failing", "estimated", "85", "115.1"),
    _twins("field_duplicate", "boundary", "ok", "85", "115"),
    _twins("field_duplicate", "not_checkable", "not_checked", "10", "90", ""),
    _twins("lab_duplicate", "passing", "ok", "100", "110"),
    _twins("lab_duplicate", "failing", "estimated", "85", "115.1"),
    _twins("lab_duplicate", "boundary", "ok", "85", "115"),
    _twins("lab_duplicate", "not_checkable", "not_checked", "10", "90", ""),
    case("percent_solids", "passing", "ok", {"percent_solids": "80"}, base=SOIL),
    case("percent_solids", "failing", "estimated", {"percent_solids": "29.9"}, base=SOIL),
    case("percent_solids", "boundary", "ok", {"percent_solids": "30"}, base=SOIL),
    case("percent_solids", "not_checkable", "not_checked", {}, base=SOIL),
    case("over_range", "passing", "ok", {}),
    case("over_range", "failing", "estimated", {"qualifiers": "E", "dilution": "1"}),
    case("over_range", "boundary", "ok", {"qualifiers": "E", "dilution": "1"}, {"sample_kind": "field", "result": "12", "dilution": "10"}),
    case("over_range", "not_checkable", "not_checked", {}, file="bare"),
    case("limits", "passing", "ok", {"quantitation_limit": "5", "detection_limit": "1"}),
    case("limits", "failing", "estimated", {"result": "4.9", "quantitation_limit": "5", "detection_limit": "1"}),
    case("limits", "boundary", "ok", {"result": "5", "quantitation_limit": "5", "detection_limit": "1"}),
    case("limits", "not_checkable", "not_checked", {}),
    _limits("passing", "ok", {"result": "<0.50", "percent_solids": "100"}, {"result": "<0.63", "percent_solids": "80"}, SOIL),
    _limits("failing", "estimated", {"result": "<0.50", "percent_solids": "60"}, {"result": "<0.50", "percent_solids": "90"}, SOIL),
    # 1.0 may stand for 1.05 at most and 1.1 for 1.05 at least
    _limits("boundary", "ok", {"result": "<1.0", "reporting_limit": "1.0", "amount_taken": "5 mL"},
            {"result": "<1.1", "reporting_limit": "1.1", "amount_taken": "5 mL"}, WATER),
    # 0.5 may stand for any limit from 0.45 to 0.55, which 80 and 95 % solids do not move further
    _limits("not_checkable", "not_checked", {"result": "<0.5", "percent_solids": "80"}, {"result": "<0.5", "percent_solids": "95"}, SOIL),
    case("zero_or_negative", "passing", "ok", {}),
    case("zero_or_negative", "failing", "note", {"result": "0", "reporting_limit": "1"}),
    case("zero_or_negative", "boundary", "ok", {"result": "0.001"}),
    case("zero_or_negative", "not_checkable", "not_checked", {"analyte": "Percent solids", "result": "80", "unit": "%"}, base=SOIL),
    _fractions("passing", "ok", "90"),
    _fractions("failing", "estimated", "130.1"),
    _fractions("boundary", "ok", "130"),
    _fractions("not_checkable", "not_checked", ""),
    _xylenes("passing", "ok", "20", "10"),
    _xylenes("failing", "estimated", "20.5", "10.2"),
    _xylenes("boundary", "ok", "20.5", "10.1"),
    _xylenes("not_checkable", "not_checked"),
    case("batches", "passing", "ok", {"batch": "one"}, {"sample_id": "MB 4", "sample_kind": "method_blank", "result": "<1"},
         {"sample_id": "LCS 4", "sample_kind": "lab_control", **PERCENT, "recovery": "100"}),
    case("batches", "failing", "note", {"batch": "two"}, {"sample_id": "MB 5", "sample_kind": "method_blank", "result": "<1"}),
    case("batches", "boundary", "ok", {"batch": "wg3"}, {"sample_id": "MB 6", "batch": "WG3", "sample_kind": "method_blank", "result": "<1"},
         {"sample_id": "LCS 6", "batch": "WG3 ", "sample_kind": "lab_control", **PERCENT, "recovery": "100"}),
    case("batches", "not_checkable", "not_checked", {"batch": ""}),
    case("trip_blank_each_day", "passing", "ok", {"sampled_at": "2025-07-01 09:00"},
         {"sample_id": "TB 7", "sample_kind": "trip_blank", "result": "<1", "sampled_at": "2025-07-01 07:00", "received_at": "2025-07-02"}),
    case("trip_blank_each_day", "failing", "note", {"sampled_at": "2025-07-03 09:00"}),
    # half past eleven at UTC-5 is the next day in UTC
    case("trip_blank_each_day", "boundary", "ok", {"sampled_at": "2025-07-05 23:30-05:00"},
         {"sample_id": "TB 8", "sample_kind": "trip_blank", "result": "<1", "sampled_at": "2025-07-05", "received_at": "2025-07-06"}),
    case("trip_blank_each_day", "not_checkable", "not_checked", {"sampled_at": "2025-07-07"}, base=SOIL),
    _custody("passing", "ok", "ALDER-1"),
    _custody("failing", "note", "BIRCH-2"),
    _custody("boundary", "ok", "CEDAR-3"),
    _custody("not_checkable", "not_checked", "HAZEL-4"),
)  # fmt: skip
