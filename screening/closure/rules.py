"""Rules of closure as data: one TOML file a place and edition, read strictly; the rows' shapes."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, Literal

from screening.errors import Refused
from screening.files import parse_toml
from screening.typed import Before, Fault, Record, Within

Status = Literal["read", "secondhand", "memory", "common practice, no source"]
UNREAD: Mapping[str, str] = {
    "secondhand": "read in another publication, not in the rule",
    "memory": "recalled and unverified",
    "common practice, no source": "common practice, no source",
}
"""Words for every status but 'read'."""


def _exact(value: object) -> object:
    return Decimal(value) if isinstance(value, int) and not isinstance(value, bool) else value


Amount = Annotated[Decimal, Before(_exact)]


class Row(Record):
    """What every row has: its id in the file, where it stands in the law, and how it was read."""

    id: Annotated[str, Within(pattern=r"^[a-z0-9][a-z0-9_-]*$")]
    citation: Annotated[str, Within(fewest=1)]
    status: Status
    source: str = ""
    note: str = ""

    def check(self) -> None:
        """Raise ValueError for a row that was read nowhere."""
        if self.status in ("read", "secondhand") and not self.source:
            raise ValueError("a row that was read names its source")


class When(Record):
    """When a sampling row applies; everything stated must hold."""

    closure: Literal["removed", "in_place"] | None = None
    water_in_pit: bool | None = None
    slab: bool | None = None
    tanks_in_pit: Literal["one", "several"] | None = None
    capacity_gal_at_least: Amount | None = None
    capacity_gal_above: Amount | None = None
    capacity_gal_at_most: Amount | None = None
    capacity_gal_below: Amount | None = None
    fill_above_centre: bool | None = None
    boring_depth_ft_at_most: Amount | None = None
    boring_depth_ft_above: Amount | None = None
    release_found: bool | None = None
    products: tuple[str, ...] = ()


class SamplingRow(Row):
    """How many samples a component needs, and where.

    The number is max(least, number + ceil(measure beyond / each) * plus), with ``measure`` one of the component's
    quantities; a row without ``number`` and ``each`` states that the rule gives no count.
    """

    component: Literal["tank", "piping", "dispenser", "sidewall", "stockpile", "groundwater", "site"]
    counts: Literal["soil_places", "borings", "soil_samples_of_borings", "stockpile_samples", "water_places"] = "soil_places"
    rule: Annotated[str, Within(fewest=1)]
    where: str = ""
    when: When = When()
    number: int | None = None
    each: Amount | None = None
    plus: int = 1
    beyond: Amount = Decimal(0)
    measure: Literal["", "capacity_gal", "length_ft", "perimeter_ft", "area_sqft", "volume_cubic_yards", "borings"] = ""
    least: int = 0
    place: Literal["", "wall", "below"] = ""
    per_pit: bool = False
    adds: bool = False
    below_base_ft: Amount | None = None
    at_most_below_base_ft: Amount | None = None
    within_ft: Amount | None = None
    must_show_place: bool = False
    composite: Literal["", "barred", "required"] = ""
    composite_of: int | None = None
    highest_reading: bool = False

    @property
    def has_count(self) -> bool:
        """Whether the rule states a number."""
        return self.number is not None or self.each is not None

    def check(self) -> None:
        """Raise ValueError for half a formula."""
        super().check()
        if (self.each is None) != (self.measure == ""):
            raise ValueError("'each' and 'measure' belong together")


class ProductRow(Row):
    """One analyte, or analysis of several, that a stored product asks for."""

    products: tuple[str, ...]
    analyte: Annotated[str, Within(fewest=1)]
    force: Literal["required", "consider", "follow_on", "if_release_suspected", "method_note"]
    media: tuple[Literal["soil", "groundwater"], ...] = ("soil", "groundwater")
    method: str = ""


class SignRow(Row):
    """What a field sign means by itself."""

    sign: Literal["sheen", "free_product", "odour", "staining", "holes", "instrument"]
    meaning: Literal["triggers", "suspected", "sample_there"]
    rule: Annotated[str, Within(fewest=1)]


class DeadlineRow(Row):
    """One clock: a span counted from an event, forward or backward; without a span it is a duty without a date."""

    what: Annotated[str, Within(fewest=1)]
    counted_from: tuple[str, ...] = ()
    span: Annotated[int, Within(least=0)] | None = None
    unit: Literal["", "hours", "days", "working_days", "months", "years"] = ""
    before: bool = False
    applies: Literal[
        "always", "removed", "in_place", "triggered", "clean", "suspected", "free_product", "groundwater", "stockpile",
        "temporary", "event",
    ] = "always"  # fmt: skip
    products: tuple[str, ...] = ()
    to: str = ""
    met_by: tuple[str, ...] = ()
    at_least: bool = False
    or_agency: bool = False

    def check(self) -> None:
        """Raise ValueError for half a span."""
        super().check()
        if (self.span is None) != (self.unit == "") or (self.span is not None and not self.counted_from):
            raise ValueError("'span', 'unit' and 'counted_from' belong together")


class PaperRow(Row):
    """One thing that a report must hold; ``kinds`` are the papers that answer it, none where only its own id does."""

    document: Annotated[str, Within(fewest=1)]
    item: Annotated[str, Within(fewest=1)]
    kinds: tuple[str, ...] = ()
    applies: Literal["always", "removed", "in_place", "triggered", "free_product", "soil_hauled"] = "always"


class SafetyRow(Row):
    """A published limit or duty on the atmosphere, the excavation or the work."""

    topic: Annotated[str, Within(fewest=1)]
    rule: Annotated[str, Within(fewest=1)]
    before: tuple[Literal["removal", "cutting", "entry", "transport"], ...] = ()
    flammable_at_most: Amount | None = None
    flammable_below: Amount | None = None
    oxygen_at_most: Amount | None = None
    oxygen_below: Amount | None = None
    oxygen_at_least: Amount | None = None


KINDS: Mapping[str, type[Row]] = {
    "sampling": SamplingRow, "products": ProductRow, "signs": SignRow, "deadlines": DeadlineRow, "papers": PaperRow,
    "safety": SafetyRow,
}  # fmt: skip


class RuleFile(Record):
    """One file: what it is, for which places it stands unnamed, what is missing from it, its rows."""

    kind: str
    name: str
    sha256: str
    text: str
    title: str
    place: str
    default_for: tuple[str, ...] = ()
    incomplete: str = ""
    note: str = ""
    rows: tuple[Any, ...]


@lru_cache(maxsize=256)
def parse_rules(kind: str, name: str, text: str) -> RuleFile:
    """A rule file from its text. Raises `Refused` naming file, row and key."""
    where = f"{kind}/{name}.toml"
    try:
        data = parse_toml(text)
    except tomllib.TOMLDecodeError as error:
        raise Refused(f"{where}: {error}; mend the line") from error
    rows: list[Row] = []
    for number, given in enumerate(data.pop("row", []), start=1):
        try:
            rows.append(KINDS[kind].read(given))
        except Fault as fault:
            key = ".".join(map(str, fault.place)) or "the row"
            raise Refused(f"{where}, row {number} ({given.get('id', 'without id')}): {key}: {fault.words}") from fault
    ids = [row.id for row in rows]
    twice = next((one for one in ids if ids.count(one) > 1), None)
    if twice:
        raise Refused(f"{where}: the id '{twice}' is there twice; give each row its own")
    try:
        return RuleFile(
            kind=kind, name=name, sha256=hashlib.sha256(text.encode()).hexdigest(), text=text, rows=tuple(rows), **data
        )
    except (Fault, TypeError) as error:
        key = ".".join(map(str, error.place)) if isinstance(error, Fault) else ""
        raise Refused(f"{where}: {key}: {error}") from error
