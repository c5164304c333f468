"""Background values by the rule of a table, from the samples of locations that the site did not touch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

from screening.decision.sample_groups import Group
from screening.errors import Refused
from screening.levels.rules import Background
from screening.screen.statistics.background import background
from screening.screen.statistics.choice import Tested, fits
from screening.screen.statistics.shown import figures


def backgrounds_of(group: Group, rules: Sequence[Background], tested: Sequence[Tested], named: bool) -> list[dict[str, Any]]:
    """One value a rule for the medium; ``named`` tells whether the background locations were named. Refusals become words."""
    made = []
    for rule in rules:
        if rule.media and group.medium not in rule.media:
            continue
        document: dict[str, Any] = {
            "table": group.table, "medium": group.medium, "kind": rule.kind, "unit": group.unit, "n": len(group.samples),
            "distribution": None, "percentile": None, "times_median": None, "value": None, "rule": rule.text,
            "citation": rule.citation, "transcription": rule.transcription, "note": "",
        }  # fmt: skip
        try:
            if not named:
                raise Refused("name the locations that the site did not touch with --location")
            document |= _value(group, rule, tested)
        except Refused as error:
            document["note"] = f"not computed: {error}"
        made.append(document)
    return made


def _value(group: Group, rule: Background, tested: Sequence[Tested]) -> dict[str, Any]:
    if group.unbounded or group.observed.limits:
        raise Refused("non-detects or values without a bound are among the samples, for which no rule was read")
    distribution: Literal["lognormal", "normal"] = (
        "normal" if fits(tested, "normal") and not fits(tested, "lognormal") else "lognormal"
    )
    percentile = rule.normal_percentile if distribution == "normal" else rule.lognormal_percentile
    found = background(group.observed.values, distribution, percentile, rule.times_median, rule.minimum)
    rejected = "" if fits(tested, distribution) else "no distribution fits; taken as lognormal all the same: check by hand"
    return {
        "distribution": distribution, "percentile": figures(found.percentile), "times_median": figures(found.multiple),
        "value": figures(found.value), "note": rejected,
    }  # fmt: skip
