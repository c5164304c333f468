"""Outlier tests against published examples; critical values of Dixon's table simulated."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from screening.errors import Refused
from screening.screen.statistics.choice import distributions
from screening.screen.statistics.flags import flag
from screening.screen.statistics.outliers import DIXON, dixon, grubbs, rosner

Examples = Callable[[str], Any]


def test_dixon(example: Examples) -> None:
    """Dean and Dixon (1951) with the values of Rorabacher (1991): an outlier at 90 %, none at 95 %."""
    one = example("d01_dixon_q_10")
    found = dixon(one.values, 90)
    one.holds({"Q": found.statistic, "outlier_90": found.outlier, "outlier_95": dixon(one.values, 95).outlier})
    assert found.value == 0.167
    assert {str(key): dixon(one.values, key).critical for key in (90, 95)} == one.data["critical"]


@pytest.mark.parametrize("n", range(3, 11))
def test_dixons_table_is_what_chance_gives(n: int) -> None:
    """Most of the table is recalled: 200,000 normal samples of each size give it to 0.006 (seed fixed)."""
    ordered = np.sort(np.random.default_rng(n).standard_normal((200_000, n)), axis=1)
    low = (ordered[:, 1] - ordered[:, 0]) / (ordered[:, -1] - ordered[:, 0])
    for percent, table in DIXON.items():
        # two-tailed: one given end passes the value by half of the level
        assert np.quantile(low, 1 - (100 - percent) / 200) == pytest.approx(table[n - 3], abs=0.006)


def test_grubbs(example: Examples) -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.17.1, after Tietjen and Moore (1972)."""
    one = example("d02_grubbs_8")
    found = grubbs(one.values)
    one.holds({"G": found.statistic, "critical_one_sided": found.critical, "outlier": found.outlier})
    one.agrees({"G": found.statistic, "critical_one_sided": found.critical})


def test_rosner_takes_the_last_step_that_counts(example: Examples) -> None:
    """Rosner (1983): the first two steps pass nothing, the third does; three outliers, none for who stops at the first."""
    one = example("d03_gesd_54")
    found = rosner(one.values, one.data["kmax"])
    one.holds(
        {
            "R": [step.statistic for step in found.steps], "lambda": [step.critical for step in found.steps],
            "n_outliers": len(found.outliers),
        }
    )  # fmt: skip
    assert [step.outlier for step in found.steps[:3]] == [False, False, True]
    assert found.outliers == (6.01, 5.42, 5.34)


def test_the_test_follows_the_number_of_values(example: Examples) -> None:
    """A flag names places and removes nothing; lognormal values are looked at as logarithms (54 of Rosner; others invented)."""
    many = example("d03_gesd_54").values
    found = flag(many, distributions(many))
    assert found.test.startswith("Rosner")
    few = [10.0, 11.0, 12.0, 11.5, 10.5, 95.0]
    assert flag(few, distributions(few)).places == (5,)
    twelve = [10.0, 11.0, 12.0, 11.5, 10.5, 10.8, 11.2, 11.4, 10.9, 11.1, 10.7, 11.3]
    assert flag(twelve, distributions(twelve)).test == "Grubbs (highest)"
    skewed = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0]
    assert flag(skewed, distributions(skewed)) == flag(skewed, ()) and "logarithms" in flag(skewed, ()).test
    assert not flag(skewed, ()).places
    assert flag([1.0, 2.0], ()).test.startswith("none made")


def test_too_few() -> None:
    with pytest.raises(Refused, match="at least 15 values, here are 14"):
        rosner(list(range(14)))
    with pytest.raises(Refused, match="3 to 10 values, here are 11"):
        dixon([float(one) for one in range(11)])
