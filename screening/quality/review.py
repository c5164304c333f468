"""The review of a site's results: every check of an edition, the overrides, and the marks that the screen reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from screening.quality.adjusted_limits import check_adjusted_limits
from screening.quality.amounts import check_limits, check_over_range, check_signs
from screening.quality.blanks import check_blanks
from screening.quality.chosen import rank
from screening.quality.completeness import check_batches, check_trip_blanks_there
from screening.quality.controls import check_controls, check_spikes
from screening.quality.custody import check_custody
from screening.quality.duplicates import FIELD_PAIRS, check_field_duplicates, check_lab_duplicates
from screening.quality.editions import Edition
from screening.quality.findings import Checked, Finding
from screening.quality.holding import check_holding_times
from screening.quality.marks import Mark, fill_reviewed, marks
from screening.quality.preservation import check_preservation
from screening.quality.solids import check_solids
from screening.quality.spike_pairs import check_spike_pairs
from screening.quality.surrogates import check_surrogates
from screening.quality.temperature import check_temperature
from screening.quality.wholes import check_fractions, check_sums
from screening.store.custody import Line
from screening.store.overrides import Override, overrides_in_force

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Review:
    """Every check in the order in which it was made, the overrides in force, and the mark of each row concerned."""

    edition: Edition | None
    checks: Sequence[Checked]
    overrides: Sequence[Override]
    marks: dict[int, Mark]

    @property
    def findings(self) -> list[Finding]:
        """The findings of all checks."""
        return [finding for check in self.checks for finding in check.findings]


def review(
    connection: duckdb.DuckDBPyConnection,
    edition: Edition | None,
    decisions: Sequence[int],
    *,
    chosen_rule: str = "default",
    custody: Sequence[Line] = (),
    custody_gaps: Mapping[str, str] | None = None,
) -> Review:
    """Review what is known and choose one of several analyses: fills ``reviewed``, ``ranked`` and ``field_pair``.

    Reads ``known``, ``dry`` and ``delivered``. Without an edition nothing is checked and only overrides mark results.
    """
    overrides = overrides_in_force(connection, decisions)
    connection.execute(FIELD_PAIRS)
    checks: list[Checked] = []
    if edition is not None:
        checks += [
            check_holding_times(connection, edition),
            check_temperature(connection, edition),
            check_preservation(connection, edition),
            *check_blanks(connection, edition),
        ]
        checks += [
            check_controls(connection, edition),
            check_spikes(connection, edition),
            *check_spike_pairs(connection, edition),
        ]
        checks += [check_surrogates(connection, edition), check_solids(connection, edition)]
    fill_reviewed(connection, marks([one for check in checks for one in check.findings], overrides))
    rank(connection, chosen_rule)
    if edition is not None:
        checks += [check_field_duplicates(connection, edition), check_lab_duplicates(connection, edition)]
        checks += [check_over_range(connection, edition), check_limits(connection, edition)]
        checks += [check_adjusted_limits(connection, edition), check_signs(connection)]
        checks += [check_fractions(connection, edition), check_sums(connection, edition)]
        checks += [check_batches(connection, edition), check_trip_blanks_there(connection, edition)]
        checks.append(check_custody(connection, custody, custody_gaps or {}))
    made = marks([one for check in checks for one in check.findings], overrides)
    fill_reviewed(connection, made)
    return Review(edition, tuple(checks), tuple(overrides), made)
