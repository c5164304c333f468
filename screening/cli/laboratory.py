"""Commands on the laboratory's own arithmetic, made again: detection limits, the limit of one sample, methanol extracts."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import click

from screening.cli.common import NEEDS_EYES, PATH, Session, command, global_options, pairs
from screening.cli.group import screening


class Number(click.ParamType[Decimal]):
    """An exact number, as 0.05."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        """The decimal, or wrong usage."""
        try:
            number = Decimal(value)
        except InvalidOperation:
            number = Decimal("nan")
        if not number.is_finite():
            self.fail(f"{value!r} is no number; write it as 0.05", param, ctx)
        return number


@screening.group("laboratory")
@global_options
def laboratory() -> None:
    """Make the laboratory's arithmetic again: detection limits, the limit of one sample, methanol extracts."""


@command(laboratory, "detection-limit")
@click.argument("files", nargs=-1, type=PATH)
@click.option("--site", help="Take the method blanks of this site's deliverables instead of files.")
@click.option("--analyte", default="", help="One analyte alone (default: all).")
@click.option("--set", "settings", multiple=True, metavar="FIELD=VALUE", help="A value the file does not state (as medium=soil).")
@click.pass_context
def detection_limit(
    context: click.Context, session: Session, files: tuple[Path, ...], site: str | None, analyte: str, settings: tuple[str, ...]
) -> None:
    """Make detection limits from spiked replicates and method blanks.

    FILES hold a row a result with analyte, result, unit and, where stated, sample_kind (lab_control for a spiked replicate,
    method_blank), batch, analysed_at and spike_amount. Of two files the two sets are pooled as well.
    """
    from screening.decision.detection_limits import limits_of_files, limits_of_site
    from screening.outputs.laboratory_text import show_limits
    from screening.store.database import opened

    if bool(files) == bool(site):
        raise click.UsageError("Name the files of a study, or a site with --site.", context)
    if site:
        with opened(session.database) as connection:
            document = limits_of_site(connection, site, analyte)
    else:
        document = limits_of_files(files, pairs(settings, "--set"), analyte)
    session.answer(document, lambda: show_limits(session.console(), document))
    context.exit(NEEDS_EYES if any(one["limit"] is None for one in document["limits"]) else 0)


@command(laboratory, "sample-limit")
@click.option("--limit", required=True, type=Number(), help="The limit of the method, before any adjustment.")
@click.option("--unit", default="", help="Its unit, for the answer.")
@click.option("--dilution", default="1", type=Number())
@click.option("--nominal-amount", default="1", type=Number(), help="Mass or volume that the method takes.")
@click.option("--amount", default="1", type=Number(), help="Mass or volume taken, in the same unit.")
@click.option("--nominal-volume", default="1", type=Number(), help="Final volume of the method.")
@click.option("--volume", default="1", type=Number(), help="Final volume, in the same unit.")
@click.option("--solids", type=Number(), help="Percent solids (default: 100, an amount as received).")
@click.option("--moisture", type=Number(), help="Percent moisture of the wet sample, instead of --solids.")
@click.option("--level", type=Number(), help="An action level in the same unit.")
@click.pass_context
def sample_limit(
    context: click.Context, session: Session, limit: Decimal, unit: str, dilution: Decimal, nominal_amount: Decimal, amount: Decimal,
    nominal_volume: Decimal, volume: Decimal, solids: Decimal | None, moisture: Decimal | None, level: Decimal | None,
) -> None:  # fmt: skip
    """Adjust a limit to one sample's mass, volume, dilution and solids, and hold it against a level."""
    from screening.decision.sample_limit import limit_of_sample
    from screening.outputs.laboratory_text import show_sample_limit
    from screening.quality.sample_limits import Handling

    if solids is not None and moisture is not None:
        raise click.UsageError("Give --solids or --moisture, not both.", context)
    percent = solids if solids is not None else 100 - (moisture or 0)
    handling = Handling(dilution, nominal_amount, amount, volume, nominal_volume, Decimal(percent))
    document = limit_of_sample(limit, handling, unit, level)
    session.answer(document, lambda: show_sample_limit(session.console(), document))
    context.exit(NEEDS_EYES if document["above_level"] else 0)


@command(laboratory, "methanol")
@click.option("--methanol", "methanol_ml", required=True, type=Number(), help="Methanol, mL.")
@click.option("--soil", "wet_g", required=True, type=Number(), help="Wet soil, g.")
@click.option("--moisture", required=True, type=Number(), help="Percent moisture of the wet soil.")
@click.option("--result", type=Number(), help="A result that leaves the soil's water out.")
@click.option("--reading", type=Number(), help="The instrument's reading, ug/L; with --purge and --aliquot.")
@click.option("--purge", type=Number(), help="Volume purged, mL.")
@click.option("--aliquot", type=Number(), help="Methanol extract in it, mL.")
@click.pass_context
def methanol_extract(
    context: click.Context, session: Session, methanol_ml: Decimal, wet_g: Decimal, moisture: Decimal, result: Decimal | None,
    reading: Decimal | None, purge: Decimal | None, aliquot: Decimal | None,
) -> None:  # fmt: skip
    """Count the water of a soil preserved in methanol: its extract is more than the methanol alone."""
    from screening.decision.sample_limit import methanol
    from screening.outputs.laboratory_text import show_methanol
    from screening.quality.sample_limits import MethanolExtract

    if reading is not None and purge is not None and aliquot is not None:
        read = (reading, purge, aliquot)
    elif (reading, purge, aliquot) == (None, None, None):
        read = None
    else:
        raise click.UsageError("--reading, --purge and --aliquot go together.", context)
    document = methanol(MethanolExtract(methanol_ml, wet_g, moisture), result, read)
    session.answer(document, lambda: show_methanol(session.console(), document))
