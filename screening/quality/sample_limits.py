"""The limit of one sample: that of the method, adjusted for mass or volume, dilution and solids; methanol extracts.

    limit of the sample = limit of the method x dilution x (nominal amount / amount taken) x (final volume / nominal
    volume) x 100 / percent solids

The adjustment is asked for by data validation SOP 28.0 in a state mining-agency record (read: "adjusted for weight,
moisture, dilution"); the formula is recalled from SW-846 Method 8000D and the functional guidelines. All amounts exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal

_WIDE = Context(prec=60)
ONE, HUNDRED = Decimal(1), Decimal(100)


@dataclass(frozen=True)
class Handling:
    """How a sample was handled; amounts in one unit, volumes in one unit. What is left alone adjusts nothing."""

    dilution: Decimal = ONE
    nominal_amount: Decimal = ONE
    amount_taken: Decimal = ONE
    final_volume: Decimal = ONE
    nominal_volume: Decimal = ONE
    percent_solids: Decimal = HUNDRED

    @property
    def factor(self) -> Decimal:
        """What the limit of the method is multiplied by. Raises `decimal.DivisionByZero` for an amount of 0."""
        return _WIDE.divide(
            self.dilution * self.nominal_amount * self.final_volume * HUNDRED,
            self.amount_taken * self.nominal_volume * self.percent_solids,
        )


def adjusted_limit(method_limit: Decimal, handling: Handling) -> Decimal:
    """The limit of the sample, per dry mass where the percent solids are stated."""
    return _WIDE.multiply(method_limit, handling.factor)


@dataclass(frozen=True)
class MethanolExtract:
    """A wet soil of ``wet_g`` grams put into ``methanol_ml`` millilitres of methanol; the water of the soil mixes with it.

    SW-846 Method 8000D section 11.10 (recalled): the volume of the extract is that of the methanol and of the water.
    """

    methanol_ml: Decimal
    wet_g: Decimal
    moisture_percent: Decimal

    @property
    def water_ml(self) -> Decimal:
        """The water of the soil, one gram a millilitre."""
        return _WIDE.divide(self.wet_g * self.moisture_percent, HUNDRED)

    @property
    def volume_ml(self) -> Decimal:
        """Methanol and water together."""
        return self.methanol_ml + self.water_ml

    @property
    def dry_g(self) -> Decimal:
        """The dry mass of the soil."""
        return self.wet_g - self.water_ml

    @property
    def factor(self) -> Decimal:
        """What results and limits that leave the water out are multiplied by."""
        return _WIDE.divide(self.volume_ml, self.methanol_ml)

    def per_dry_mass(
        self, instrument_ug_per_l: Decimal, purge_ml: Decimal, aliquot_ml: Decimal, *, with_water: bool = True
    ) -> Decimal:
        """ug per kg of dry soil from the reading of a water of ``purge_ml`` that holds ``aliquot_ml`` of the extract."""
        volume = self.volume_ml if with_water else self.methanol_ml
        return _WIDE.divide(instrument_ug_per_l * purge_ml * volume, aliquot_ml * self.dry_g)
