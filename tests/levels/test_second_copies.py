"""Federal figures held against the copies that states print in rules of their own."""

from __future__ import annotations

from decimal import Decimal

import pytest

from screening.levels.versions import Standards

FEDERAL = "us/drinking-water", "2006-01-23"
VOLATILES = "40 CFR 141.61(a)"

# table, version, and where the state's own figure is another one: (federal, state) in ug/L
COPIES: list[tuple[str, str, dict[str, tuple[str, str]]]] = [
    ("us-tn/drinking-water-voc", "2012-10-30", {}),  # Tenn. Comp. R. & Regs. 0400-45-01-.25: 21 of 21 equal
    ("us-tn/landfill-groundwater", "2025-01-08", {}),  # Tenn. 1200-01-07-.04 Appendix III: 21 of 21 equal
    ("us-ma/drinking-water", "2006-07-28", {"1,4-Dichlorobenzene": ("75", "5")}),  # 310 CMR 22.07B: one stricter figure
]


def _amounts(standards: Standards, table: str, version: str) -> dict[str, Decimal | None]:
    return {row.analyte: row.normal_value for row in standards.version(table, version).rows if row.medium == "groundwater"}


def _federal(standards: Standards) -> dict[str, Decimal | None]:
    return {row.analyte: row.normal_value for row in standards.version(*FEDERAL).rows if row.citation == VOLATILES}


def test_the_federal_rule_lists_21_volatiles(standards: Standards) -> None:
    federal = _federal(standards)
    assert len(federal) == 21 and None not in federal.values()


@pytest.mark.parametrize(("table", "version", "otherwise"), COPIES, ids=[copy[0] for copy in COPIES])
def test_a_state_prints_the_federal_figures(
    standards: Standards, table: str, version: str, otherwise: dict[str, tuple[str, str]]
) -> None:
    federal, copied = _federal(standards), _amounts(standards, table, version)
    assert federal.keys() <= copied.keys()
    differing = {name: (amount, copied[name]) for name, amount in federal.items() if copied[name] != amount}
    assert differing == {name: (Decimal(ours), Decimal(theirs)) for name, (ours, theirs) in otherwise.items()}


def test_every_figure_of_the_landfill_list_that_has_a_federal_counterpart(standards: Standards) -> None:
    """Six of the 68 rows of Appendix III have none; the other 62 are equal."""
    federal = _amounts(standards, *FEDERAL)
    copied = _amounts(standards, "us-tn/landfill-groundwater", "2025-01-08")
    both = federal.keys() & copied.keys()
    assert len(copied) == 68 and len(both) == 62
    assert {name for name in both if federal[name] != copied[name]} == set()
