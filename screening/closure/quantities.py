"""Whether what came out is accounted for: gallons out and disposed of, soil excavated and put back, heaped or hauled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from screening.site.site_file import SiteFile


@dataclass(frozen=True)
class Balance:
    """One account; status is reconciled, differs, or open where a side is not stated."""

    what: str
    out: Decimal | None
    accounted: Decimal | None
    unit: str
    status: str
    text: str


def balances(site: SiteFile) -> list[Balance]:
    """The accounts of product, wash water and soil that the site file states anything of."""
    stated = site.quantities
    made = [
        _balance("product", stated.product_removed_gal, _papers(site, "product_disposal", "gal"), "gal", "disposal papers"),
        _balance("wash water", stated.wash_water_gal, _papers(site, "wash_water_disposal", "gal"), "gal", "disposal papers"),
        _balance("excavated soil", stated.excavated_cubic_yards, _soil(site), "cubic yards", "backfill, heaps and hauling"),
        _balance(
            "hauled soil",
            stated.hauled_cubic_yards,
            _papers(site, "soil_disposal", "cubic_yards"),
            "cubic yards",
            "disposal papers",
        ),
    ]
    return [one for one in made if one is not None]


def _papers(site: SiteFile, kind: str, unit: str) -> Decimal | None:
    """The sum of the quantities on papers of a kind; None where one has none, or in another unit."""
    papers = [paper for paper in site.paper if paper.kind == kind]
    if not papers or any(paper.quantity is None or paper.unit != unit for paper in papers):
        return None
    return sum((paper.quantity for paper in papers if paper.quantity is not None), Decimal(0))


def _soil(site: SiteFile) -> Decimal | None:
    """Soil put back, heaped and hauled; a part that nobody stated counts as none only where another is stated."""
    heaps: Sequence[Decimal | None] = [heap.volume_cubic_yards for heap in site.stockpile]
    parts = [site.quantities.backfilled_cubic_yards, site.quantities.hauled_cubic_yards, *heaps]
    known = [part for part in parts if part is not None]
    return sum(known, Decimal(0)) if known and None not in heaps else None


def _balance(what: str, out: Decimal | None, accounted: Decimal | None, unit: str, by: str) -> Balance | None:
    if out is None and accounted is None:
        return None
    if out is None or accounted is None:
        lacking = "the amount that came out is not stated" if out is None else f"the {by} do not state an amount in {unit}"
        return Balance(what, out, accounted, unit, "open", f"{what}: {lacking}")
    if out == accounted:
        return Balance(what, out, accounted, unit, "reconciled", f"{what}: {out} {unit} out, {accounted} accounted for by {by}")
    more = "more" if accounted > out else "less"
    return Balance(
        what, out, accounted, unit, "differs",
        f"{what}: {out} {unit} out, {accounted} accounted for by {by}, {abs(accounted - out)} {more}",
    )  # fmt: skip
