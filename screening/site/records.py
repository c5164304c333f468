"""What the field crew and the office wrote down: signs, readings, atmosphere, papers, quantities, waivers, own demands."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from screening.site.parts import Measure, Moment, Number, Part, Word
from screening.typed import After, Within

SignKind = Literal["sheen", "free_product", "odour", "staining", "holes"]
PAPER_KINDS = (
    "closure_notice", "second_notice", "inspector_notice", "local_notice", "permit", "fire_permit", "excavation_permit", "utility_clearance", "variance",
    "engineer_determination", "contractor_certificate", "sampler_certificate", "atmosphere_log", "sampling_plan", "sampling_log",
    "site_plan", "photographs", "custody_record", "laboratory_report", "quality_statement", "tank_disposal", "product_disposal",
    "wash_water_disposal", "soil_disposal", "sludge_disposal", "fill_receipt", "closure_form", "checklist", "narrative",
    "owner_statement", "registration", "release_report", "site_assessment", "characterization", "levels_statement", "other",
)  # fmt: skip
"""Kinds of papers (common practice, no source); what a place's report must hold is in standards/papers."""


def _paper_kind(kind: str) -> str:
    if kind not in PAPER_KINDS:
        raise ValueError(f"must be one of {', '.join(PAPER_KINDS)}")
    return kind


class Background(Part):
    """A natural amount at the site, who says so and why; it counts only where a table's rule lets it stand in."""

    analyte: str
    medium: Literal["soil", "groundwater", "sediment", "surface_water", "other_water"]
    amount: Number
    unit: str
    by: Annotated[str, Within(fewest=1)]
    why: Annotated[str, Within(fewest=1)]


class Observations(Part):
    """What was seen in the field; ``groundwater_met`` stays empty where nobody said, ``flow_deg`` is clockwise from north."""

    groundwater_met: bool | None = None
    groundwater_depth_ft: Measure | None = None
    flow_deg: Number | None = None
    signs: tuple[SignKind, ...] = ()


class Sign(Part):
    """A sign of a release, with the place where it was seen."""

    kind: SignKind
    location: Word = ""
    component: Word = ""
    seen: Moment | None = None
    note: str = ""


class Reading(Part):
    """One reading of a field instrument at a location."""

    location: Word
    value: Measure
    unit: str = "ppm"
    instrument: str = ""
    at: Moment | None = None


class Atmosphere(Part):
    """The atmosphere in a tank, as measured before it was lifted, cut, entered or sent away."""

    at: Moment
    tank: Word = ""
    position: Literal["", "top", "middle", "bottom"] = ""
    before: Literal["removal", "cutting", "entry", "transport"] = "removal"
    flammable_percent: Measure | None = None
    oxygen_percent: Measure | None = None


class Paper(Part):
    """A paper that is held; ``answers`` names entries of a place's list that it answers beside those of its kind."""

    kind: Annotated[str, After(_paper_kind)]
    title: str = ""
    number: Word = ""
    date: dt.date | None = None
    valid_from: dt.date | None = None
    valid_until: dt.date | None = None
    issued_by: str = ""
    quantity: Measure | None = None
    unit: Literal["", "gal", "cubic_yards", "tons"] = ""
    answers: tuple[str, ...] = ()


class Quantities(Part):
    """What was taken out and what became of it; each stays empty where nobody said."""

    product_removed_gal: Measure | None = None
    wash_water_gal: Measure | None = None
    excavated_cubic_yards: Measure | None = None
    backfilled_cubic_yards: Measure | None = None
    hauled_cubic_yards: Measure | None = None


class Required(Part):
    """Analytes that the agency or the plan asks for, beside the place's list."""

    analytes: Annotated[tuple[str, ...], Within(fewest=1)]
    product: str = ""
    citation: Annotated[str, Within(fewest=1)]


class Clock(Part):
    """A clock of one's own (an order, a permit, a contract), in one of days, hours, months or years."""

    what: Annotated[str, Within(fewest=1)]
    counted_from: Annotated[str, Within(fewest=1)]
    citation: Annotated[str, Within(fewest=1)]
    days: Annotated[int, Within(least=0)] | None = None
    hours: Annotated[int, Within(least=0)] | None = None
    months: Annotated[int, Within(least=0)] | None = None
    years: Annotated[int, Within(least=0)] | None = None
    before: bool = False
    applies: Literal["always", "triggered", "clean"] = "always"
    met_by: str = ""

    def check(self) -> None:
        """Raise ValueError for no span, or several."""
        if sum(span is not None for span in (self.days, self.hours, self.months, self.years)) != 1:
            raise ValueError("one of days, hours, months, years must be given")


class Waiver(Part):
    """What the agency let fall: a component's samples, an analyte, or both; who said so and why is kept."""

    by: Annotated[str, Within(fewest=1)]
    why: Annotated[str, Within(fewest=1)]
    component: Word = ""
    analyte: str = ""
    date: dt.date | None = None

    def check(self) -> None:
        """Raise ValueError for a waiver of nothing."""
        if not self.component and not self.analyte:
            raise ValueError("a waiver names a component or an analyte")


class RuleChoices(Part):
    """Rule files named in place of those of the site's place; an empty list takes none."""

    sampling: tuple[str, ...] | None = None
    products: tuple[str, ...] | None = None
    signs: tuple[str, ...] | None = None
    deadlines: tuple[str, ...] | None = None
    papers: tuple[str, ...] | None = None
    safety: tuple[str, ...] | None = None
