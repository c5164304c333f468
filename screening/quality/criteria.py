"""Which rows of an edition each check holds results against, and how each row was seen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from screening.quality.editions import Edition, Rule

_FILES = {
    "holding_time": ("holding_times", ""), "temperature": ("temperature", ""), "method_blank": ("blanks", ""), "trip_blank": ("blanks", ""),
    "field_blank": ("blanks", ""), "equipment_blank": ("blanks", ""), "lab_control": ("recoveries", "lab_control"),
    "matrix_spike": ("recoveries", "matrix_spike"), "surrogate": ("recoveries", "surrogate"), "percent_solids": ("solids", ""),
    "field_duplicate": ("duplicates", "field_duplicate"), "lab_duplicate": ("duplicates", "lab_duplicate"),
    "matrix_spike_duplicate": ("duplicates", "matrix_spike_duplicate"), "lab_control_duplicate": ("duplicates", "lab_control_duplicate"),
}  # fmt: skip
"""The file of a check, and the kind of its rows that are meant ('' for all)."""
_RULES = {
    "holding_time": ("late", "grossly_late"), "preservation": ("unpreserved_days", "unpreserved_gross_days"),
    "method_blank": ("blank_at_dilution",), "matrix_spike": ("spike_skip_times",), "surrogate": ("diluted_out", "surrogates_out"),
    "field_duplicate": ("high_times_limit",), "lab_duplicate": ("high_times_limit",), "over_range": ("over_range",),
    "limits": ("between_limits",), "adjusted_limits": ("limit_unadjusted",),
    "total_and_dissolved": ("below_dissolved_percent", "below_dissolved_times", "high_times_limit"), "sums": ("parts_above_total",),
    "batches": ("control_in_batch",), "trip_blank_each_day": ("trip_blank_each_day",),
}  # fmt: skip
"""The rows of `rules.csv` of a check. Two checks hold no row: zeros and custody records, by common practice."""


def criteria_of(edition: Edition, check: str) -> Sequence[Rule]:
    """The rows that a check holds results against; none for a check by common practice."""
    file, kind = _FILES.get(check, ("", ""))
    rows = [rule for rule in (edition.rules(file) if file else ()) if not kind or rule["kind"] == kind]
    if check == "surrogate":
        rows += edition.rules("surrogates")
    named = [edition.may_have(name) for name in _RULES.get(check, ())]
    return [*rows, *(rule for rule in named if rule is not None)]


def listed_criteria(edition: Edition) -> dict[str, Any]:
    """The edition as a document: each row with its file, its cells, its citation and how it was seen."""
    return {
        "edition": edition.name, "version": edition.version.isoformat(), "title": edition.title, "citation": edition.citation,
        "status": edition.status,
        "criteria": [
            {
                "file": file.removesuffix(".csv"), "citation": rule.basis.citation, "transcription": rule.basis.transcription,
                "source": rule["source"],
                "cells": {name: text for name, text in rule.cells.items() if name not in ("citation", "transcription", "source")},
            }
            for file, rows in edition.files.items()
            for rule in rows
        ],
    }  # fmt: skip
