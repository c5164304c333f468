"""Pictures of statistics show the numbers of their documents, where those numbers lie, and in their words."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from scipy import stats

from screening.decision.report_statistics import statistics_worth_showing
from screening.outputs.pictures import statistics as pictures
from tests.outputs.pictures import drawn
from tests.outputs.pictures.invented import contents_of, outcome
from tests.outputs.pictures.test_diagrams import said, signs

AMOUNTS = ("0.01", "0.02", "0.03", "0.05", "0.08", "0.11", "0.16", "0.2", "0.31", "<0.015", "<0.04", "0.44")
WASHINGTON = {"table": "us-wa/soil-method-a", "version": "2001-08-15", "level": "0.03", "level_normal": "0.03"}


def _soil(**more: str) -> list[dict[str, object]]:
    return [outcome(f"S-{at}", "Benzene", amount, **more) for at, amount in enumerate(AMOUNTS)]


def test_what_a_rule_allows_is_shown_with_its_words() -> None:
    contents = contents_of("", _soil(**WASHINGTON))
    (document,) = statistics_worth_showing(contents.answer, contents.standards)
    tests = [one for one in document["tests"] if one["allowed"]]
    assert tests and len(document["tests"]) == len(tests)
    told = " ".join(said(drawn.read(pictures.distributions(contents, document)[0])))
    assert "Not allowed" not in told and "Statistics stand beside the sample-by-sample answer" in told
    for one in tests:
        assert one["name"].replace("_", " ") in told and f"{one['limit']} mg/kg" in told


def test_what_no_rule_allows_is_for_information_and_needs_samples_enough() -> None:
    contents = contents_of("", _soil())
    (document,) = statistics_worth_showing(contents.answer, contents.standards)
    told = said(drawn.read(pictures.distributions(contents, document)[0]))
    assert "Not allowed by this table, shown for information only." in told
    few = contents_of("", _soil()[-6:])
    assert statistics_worth_showing(few.answer, few.standards) == []


def test_a_clean_analyte_has_no_statistics() -> None:
    clean = contents_of("", [item for item in _soil() if item["outcome"] == "does_not_exceed"])
    assert statistics_worth_showing(clean.answer, clean.standards) == []


def test_samples_stand_at_their_amounts_and_ranks() -> None:
    """Of n detections the kth stands at k / (n + 1) (the plotting position of Weibull), upwards by logarithm."""
    amounts = ("0.013", "0.022", "0.05", "0.09", "0.13", "0.2", "0.4", "0.7", "1.1", "2.9")
    contents = contents_of("", [outcome(f"S-{at}", "Benzene", amount) for at, amount in enumerate(amounts)])
    (document,) = statistics_worth_showing(contents.answer, contents.standards)
    picture = drawn.read(pictures.distributions(contents, document)[0])
    areas = [*signs(picture, "does_not_exceed"), *signs(picture, "exceeds")]
    found = sorted(((area.left + area.right) / 2, (area.top + area.bottom) / 2) for area in areas)
    scores = stats.norm.ppf(np.arange(1, 11) / 11)
    xs, ys = np.array(found).T
    assert np.corrcoef(xs, scores)[0, 1] == pytest.approx(1, abs=1e-6)
    tick = {node.text: drawn.text_area(node) for node in drawn.texts(picture) if node.text in ("0.01", "0.1")}
    hundredth, tenth = ((tick[text].top + tick[text].bottom) / 2 for text in ("0.01", "0.1"))
    wanted = [tenth + (tenth - hundredth) * math.log10(float(amount) * 10) for amount in amounts]
    assert ys == pytest.approx(wanted, abs=1.5)  # a number stands a little off its line, a triangle's middle too


def test_a_trend_is_drawn_with_the_slope_of_theil_and_sen() -> None:
    """The slope by scipy.stats.theilslopes, days counted in years of 365.25 days; the line runs through both medians."""
    days = [dt.date(2022, 1, 10) + dt.timedelta(days=91 * at) for at in range(10)]
    amounts = [9.1, 8.7, 8.9, 7.4, 7.9, 6.2, 6.6, 5.1, 4.4, 4.6]
    found = [
        outcome(
            "MW", "Benzene", str(amount), sampled_at=day.isoformat(), sample_id=f"MW {day}", medium="groundwater", depth_top=None
        )
        for day, amount in zip(days, amounts, strict=True)
    ]
    contents = contents_of("", found)
    (document,) = statistics_worth_showing(contents.answer, contents.standards)
    assert pictures.distributions(contents, document) == []  # rounds of one well are no sample of a site
    (svg,) = pictures.trends(contents, document)
    slope = float(stats.theilslopes(amounts, [day.toordinal() / 365.25 for day in days]).slope)
    assert float(document["trends"][0]["slope_a_year"]) == pytest.approx(slope, rel=1e-5)
    drawn_line = pictures._slope(list(zip(days, amounts, strict=True)), slope)
    assert drawn_line[0][1] - drawn_line[-1][1] == pytest.approx(-slope * (days[-1] - days[0]).days / 365.25, rel=1e-6)
    told = " ".join(said(drawn.read(svg)))
    assert "MW: Benzene: falling by" in told and "Held against no level" in told and "one-sided p" in told
