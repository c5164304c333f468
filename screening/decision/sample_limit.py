"""The limit of one sample, and a methanol extract, worked out for a person: each number beside the formula it comes from."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from screening.errors import Misuse
from screening.quality.sample_limits import Handling, MethanolExtract, adjusted_limit
from screening.quality.shown import beside, figures, plain

FORMULA = "limit of the method x dilution x nominal amount / amount taken x final volume / nominal volume x 100 / percent solids"
SOURCE = "data validation SOP 28.0 in a state mining-agency record (read: adjusted for weight, moisture, dilution); formula of SW-846 Method 8000D (recalled)"
METHANOL_SOURCE = "SW-846 Method 8000D section 11.10 (recalled): the water of the soil mixes with the methanol"


def limit_of_sample(method_limit: Decimal, handling: Handling, unit: str, level: Decimal | None) -> dict[str, Any]:
    """The adjusted limit, and whether a non-detect at it can show that a level (same unit) is kept. Raises `Misuse`."""
    for name in ("dilution", "nominal_amount", "amount_taken", "final_volume", "nominal_volume", "percent_solids"):
        if getattr(handling, name) <= 0:
            raise Misuse(f"the {name.replace('_', ' ')} must be above 0")
    if handling.percent_solids > 100:
        raise Misuse("the percent solids must be at most 100")
    limit = adjusted_limit(method_limit, handling)
    shown = figures(limit, 6) if level is None else beside(limit, level, 6)
    document: dict[str, Any] = {
        "method_limit": plain(method_limit), "factor": figures(handling.factor, 6), "limit": shown, "unit": unit, "level": None,
        "above_level": None, "text": f"the limit of the sample is {shown} {unit}".strip(), "formula": FORMULA, "citation": SOURCE,
    }  # fmt: skip
    if level is not None:
        above = limit > level
        against = f"the level of {plain(level)} {unit}".strip()
        words = f"above {against}: a non-detect proves nothing there" if above else f"not above {against}"
        document |= {"level": plain(level), "above_level": above, "text": f"{document['text']}, {words}"}
    return document


def methanol(
    extract: MethanolExtract, result: Decimal | None, reading: tuple[Decimal, Decimal, Decimal] | None
) -> dict[str, Any]:
    """What the water of a soil does to its methanol extract.

    ``result`` is one reported without that correction, in any unit; ``reading`` the instrument's ug/L, the purged volume
    and the aliquot of the extract in it, both in mL. Raises `Misuse`.
    """
    if extract.methanol_ml <= 0 or extract.wet_g <= 0 or not 0 <= extract.moisture_percent < 100:
        raise Misuse("methanol and soil must be above 0 and the moisture (of the wet soil) from 0 to below 100 percent")
    document: dict[str, Any] = {
        "water_ml": plain(extract.water_ml), "extract_ml": plain(extract.volume_ml), "dry_g": plain(extract.dry_g),
        "factor": figures(extract.factor, 6), "result": None, "corrected": None, "ug_per_kg_dry": None, "without_water": None,
        "citation": METHANOL_SOURCE,
    }  # fmt: skip
    if result is not None:
        document |= {"result": plain(result), "corrected": figures(result * extract.factor, 6)}
    if reading is not None:
        if reading[2] <= 0 or reading[1] <= 0:
            raise Misuse("purged volume and aliquot must be above 0")
        document["ug_per_kg_dry"] = figures(extract.per_dry_mass(*reading), 6)
        document["without_water"] = figures(extract.per_dry_mass(*reading, with_water=False), 6)
    return document
