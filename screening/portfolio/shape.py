"""The folder of a portfolio: which Parquet files lie in it with which columns, and what was settled when it was written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from screening.errors import Refused
from screening.files import read_text, write_text
from screening.levels.versions import Texts
from screening.store.fill import columns_of

FORM = 1
"""Raised whenever the files of a portfolio get another meaning."""
MANIFEST = "portfolio.json"
APART = 1_000_000_000
"""Numbers of values and samples of one site; those of the next begin after them."""

_VALUE = (
    "site_no INTEGER, value_no BIGINT, sample_no BIGINT, row_id BIGINT, deliverable VARCHAR, derived VARCHAR, sample_id VARCHAR, "
    "sample_kind VARCHAR, location VARCHAR, depth_top DECIMAL(18, 6), depth_bottom DECIMAL(18, 6), depth_unit VARCHAR, "
    "medium VARCHAR, sampled_on DATE, analyte VARCHAR, cas VARCHAR, fraction VARCHAR, unit VARCHAR, detected BOOLEAN, "
    "doubt VARCHAR, lower DECIMAL(38, 18), upper DECIMAL(38, 18), below_upper BOOLEAN, level_analyte VARCHAR, "
    "only_table VARCHAR, quantitation DECIMAL(38, 18), detection DECIMAL(38, 18), undiluted BOOLEAN"
)
SHAPES: Mapping[str, str] = {
    "value": _VALUE,
    "derived_value": _VALUE,
    "sample_state": "level_table VARCHAR, state_key VARCHAR, sample_no BIGINT, state VARCHAR, told VARCHAR",
    "value_state": "level_table VARCHAR, state_key VARCHAR, value_no BIGINT, state VARCHAR, told VARCHAR",
    "pair": "parent_no BIGINT, duplicate_no BIGINT, mean_no BIGINT",
    "site": (
        "site_no INTEGER, site VARCHAR, name VARCHAR, store VARCHAR, site_file VARCHAR, data VARCHAR, levels VARCHAR, "
        "settings VARCHAR, review VARCHAR, amounts BIGINT, held_back BIGINT, gaps BIGINT"
    ),
}
"""The folders of a portfolio and their columns. Amounts are in mg/kg (solids) or ug/L (waters); a value has bounds between
which the true amount lies; ``derived`` is '' for a delivered value, else sum, equivalent, species or fraction."""
VALUE_COLUMNS = tuple(name for name, _ in columns_of(_VALUE))


@dataclass(frozen=True)
class Foreseen:
    """What a portfolio was written for of one table: the hash of its facts, the sums, species and fractions formed."""

    facts: str
    sums: tuple[str, ...] = ()
    species: tuple[str, ...] = ()
    fractions: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True)
class Manifest:
    """What was settled when the portfolio was written, for all its sites."""

    software: str
    data_on: str | None
    tables: Mapping[str, Foreseen] = field(default_factory=dict)
    own_levels: Texts = field(default_factory=dict)
    form: int = FORM

    def write(self, folder: Path) -> None:
        """Put it into the folder."""
        write_text(folder / MANIFEST, json.dumps(asdict(self), ensure_ascii=False, indent=1, sort_keys=True) + "\n")


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a portfolio. Raises `Refused` where the folder holds none or one of another form."""
    path = folder / MANIFEST
    if not path.is_file():
        raise Refused(f"{folder}: is no portfolio; write one with 'screening portfolio write {folder}'")
    try:
        kept: dict[str, Any] = json.loads(read_text(path, 1024**3))
        if kept["form"] != FORM:
            raise Refused(f"{path}: is of form {kept['form']}, this program knows {FORM}; write the portfolio again")
        tables = {
            name: Foreseen(
                one["facts"], tuple(one["sums"]), tuple(one["species"]), tuple(tuple(part) for part in one["fractions"])
            )
            for name, one in kept["tables"].items()
        }
        own = {name: (facts, dict(days)) for name, (facts, days) in kept["own_levels"].items()}
        return Manifest(kept["software"], kept["data_on"], tables, own)
    except (ValueError, KeyError, TypeError) as error:
        raise Refused(f"{path}: is damaged; write the portfolio again") from error
