"""Single limits and bounds that may be asked for by name and are shown for information: no rule is one of them alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import exp, log

from screening.errors import Refused
from screening.screen.statistics import limits
from screening.screen.statistics.choice import Tested, fits
from screening.screen.statistics.gamma import fit_gamma, gamma_adjusted, gamma_approximate
from screening.screen.statistics.lognormal import land, modified_cox
from screening.screen.statistics.moments import mean, sd
from screening.screen.statistics.observed import Observed, need_positive
from screening.screen.statistics.product_limit import product_limit
from screening.screen.statistics.proportion import proportion, upper_share
from screening.screen.statistics.resampling import bootstrap
from screening.screen.statistics.tolerance import one_sided, prediction_of_mean, share_above

COVERED = 0.95
"""The share of all values below a tolerance limit."""
TENTH = 0.1
"""The share that the proportion test holds the samples against."""


@dataclass(frozen=True)
class Asked:
    """What a single is made of: the samples, their distribution tests, the level in their unit, the seed."""

    observed: Observed
    tested: Sequence[Tested]
    level: Decimal | None
    seed: int

    @property
    def values(self) -> tuple[float, ...]:
        """Values without non-detects. Raises `Refused` where there are some."""
        if self.observed.limits:
            raise Refused("it is made for values without non-detects: use the product limit")
        return self.observed.values

    @property
    def number(self) -> float:
        """The level as a number. Raises `Refused` where there is none."""
        if self.level is None:
            raise Refused("there is no level to hold the samples against")
        return float(self.level)


@dataclass(frozen=True)
class Single:
    """Estimate and limit in the unit of the values; where ``share`` is set they are shares of all samples instead."""

    estimate: float
    limit: float
    note: str
    share: bool = False


def _of_mean(limit: Callable[[Sequence[float]], float], note: str) -> Callable[[Asked], Single]:
    return lambda asked: Single(mean(asked.values), limit(asked.values), note)


def _bootstrap(name: str, note: str) -> Callable[[Asked], Single]:
    def run(asked: Asked) -> Single:
        found = bootstrap(asked.values, seed=asked.seed)
        drawn = f"{found.resamples} resamples, " + ("every possible one" if found.seed is None else f"seed {found.seed}")
        return Single(mean(asked.values), getattr(found, name), f"{note}; {drawn}")

    return run


def _product_limit(limit: Callable[[float, float, int], float], note: str) -> Callable[[Asked], Single]:
    def run(asked: Asked) -> Single:
        curve = product_limit(asked.observed)
        centre, spread = curve.mean("lowest"), curve.sd("mass_n_minus_1", "lowest")
        said = f"share below the lowest limit at that limit; divisor n - 1; with it at 0 the mean is {curve.mean('zero'):.6g}"
        return Single(centre, limit(centre, spread, asked.observed.n), f"{note}; {said}")

    return run


def _fitted(asked: Asked) -> tuple[Sequence[float], bool]:
    """The values, or their logarithms where normal values are rejected and lognormal ones are not."""
    values = asked.values
    if fits(asked.tested, "normal"):
        return values, False
    if fits(asked.tested, "lognormal"):
        need_positive(values, "a lognormal bound")
        return [log(value) for value in values], True
    raise Refused("neither normal nor lognormal values fit: no bound of this kind can be made")


def _tolerance(asked: Asked) -> Single:
    numbers, logs = _fitted(asked)
    bound = mean(numbers) + one_sided(len(numbers), COVERED) * sd(numbers)
    kind = "lognormal" if logs else "normal"
    note = f"{COVERED:.0%} of all values lie below it with 95 % confidence; {kind} values"
    return Single(mean(asked.values), exp(bound) if logs else bound, note)


def _prediction(asked: Asked) -> Single:
    numbers, logs = _fitted(asked)
    bound = prediction_of_mean(mean(numbers), sd(numbers), len(numbers))
    kind = "lognormal" if logs else "normal"
    return Single(
        mean(asked.values), exp(bound) if logs else bound, f"the next value lies below it with 95 % confidence; {kind} values"
    )


def _share_above(asked: Asked) -> Single:
    numbers, logs = _fitted(asked)
    level = log(asked.number) if logs else asked.number
    spread = sd(numbers)
    if spread == 0:
        raise Refused("a bound of the share above needs values that differ; these are all the same")
    found = sum(value > asked.number for value in asked.values) / len(numbers)
    bound = share_above((level - mean(numbers)) / spread, len(numbers))
    return Single(found, bound, f"share of all values above the level; {'lognormal' if logs else 'normal'} values", share=True)


def _proportion(asked: Asked) -> Single:
    """Non-detects whose limit is above the level count as above."""
    n = asked.observed.n
    above = sum(value > asked.number for value in asked.observed.values)
    found = proportion(above, n, TENTH)
    note = f"{above} of {n} above the level or not shown below it; exact p that the share is above a tenth: {found.p:.3g}"
    return Single(found.share, upper_share(above, n), note, share=True)


SINGLES: Mapping[str, tuple[Callable[[Asked], Single], str]] = {
    "student_t_limit": (_of_mean(limits.student_t, "for normal values"), "Student (1908)"),
    "chebyshev_limit": (_of_mean(limits.chebyshev, "for any values, wide"), "US EPA (2002), OSWER 9285.6-10"),
    "modified_t_limit": (_of_mean(limits.modified_t, "for mildly skewed values"), "Johnson (1978)"),
    "adjusted_central_limit": (_of_mean(limits.adjusted_central_limit, "for skewed values and n of 30 or more"), "Chen (1995)"),
    "land_limit": (_of_mean(land, "for lognormal values"), "Land (1971)"),
    "modified_cox_interval": (
        _of_mean(lambda values: modified_cox(values)[1], "upper end of a two-sided interval, lognormal values"), "Olsson (2005)",
    ),
    "gamma_limit": (_of_mean(lambda values: gamma_approximate(fit_gamma(values)), "for gamma values, n of 40 or more"), "Grice and Bain (1980)"),
    "adjusted_gamma_limit": (_of_mean(lambda values: gamma_adjusted(fit_gamma(values)), "for gamma values"), "Grice and Bain (1980)"),
    "bootstrap_percentile_limit": (_bootstrap("percentile", "percentile"), "Efron and Tibshirani (1993)"),
    "bootstrap_accelerated_limit": (_bootstrap("accelerated", "bias-corrected and accelerated"), "Efron and Tibshirani (1993)"),
    "bootstrap_t_limit": (_bootstrap("studentised", "studentised"), "Efron and Tibshirani (1993)"),
    "product_limit_t": (_product_limit(limits.t_upper, "with Student's t"), "Kaplan and Meier (1958)"),
    "product_limit_chebyshev": (_product_limit(limits.chebyshev_upper, "with Chebyshev's factor"), "Kaplan and Meier (1958)"),
    "proportion": (_proportion, "Clopper and Pearson (1934)"),
    "share_above_level": (_share_above, "Berthouex and Brown (2002), chapter 21"),
    "tolerance_limit": (_tolerance, "US EPA (2009), Unified Guidance, chapter 17"),
    "prediction_limit": (_prediction, "Berthouex and Brown (2002), chapter 21"),
}  # fmt: skip
"""By name: how it is made, and its source. All are one-sided upper 95 % limits but where the note says else."""
