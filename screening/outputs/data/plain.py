"""Tables as csv and Parquet: amounts are decimals or the digits as reported, and no text can run as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from operator import itemgetter
from typing import Any

from screening.outputs.lists import Amount, Listing
from screening.outputs.tables import decimal_of
from screening.outputs.texts import readable

TEXT, AMOUNT, COUNT, YES_NO = "text", "decimal", "whole number", "true or false"
"""What a column holds."""

DIGITS, DECIMALS = 38, 18
"""The decimals of the store: DECIMAL(38, 18)."""
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


@dataclass(frozen=True)
class Field:
    """A column of a data file with its meaning."""

    name: str
    holds: str
    meaning: str


Rows = Sequence[Mapping[str, Any]]


def csv_text(fields: Sequence[Field], rows: Rows) -> str:
    """Rows as csv (RFC 4180 with line feeds); an unknown value is empty, true and false are words."""
    return _written([field.name for field in fields], zip(*_columns(fields, rows, _cell), strict=True))


def _columns(fields: Sequence[Field], rows: Rows, told: Callable[[Any, str], Any]) -> list[list[Any]]:
    """The values of each column as they are told; most stand in many rows, and each is worked out once."""
    taken = zip(*map(itemgetter(*(field.name for field in fields)), rows), strict=True) if rows else ((),) * len(fields)
    columns = []
    for field, values in zip(fields, taken, strict=True):
        once = {value: told(value, field.holds) for value in set(values)}
        columns.append([once[value] for value in values])
    return columns


def listing_text(listing: Listing) -> str:
    """A list as csv under its own headings."""
    heads = [column.heading for column in listing.columns]
    rows = (
        [_cell(value.text if isinstance(value, Amount) else value, AMOUNT if _is_number(value) else TEXT) for value in values]
        for values in listing.rows
    )
    return _written(heads, rows)


def _is_number(value: Any) -> bool:
    return isinstance(value, int) or (isinstance(value, Amount) and value.number is not None)


def _written(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    target = io.StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(rows)
    return target.getvalue()


def _cell(value: Any, holds: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if holds == AMOUNT and decimal_of(str(value)) is None:
        return ""  # such as '>2000': no number, and the result column holds it as it is
    text = readable(str(value))
    return f"'{text}" if holds == TEXT and text.startswith(_FORMULA) else text


def parquet(fields: Sequence[Field], rows: Rows, about: Mapping[str, str]) -> bytes:
    """Rows as Parquet: amounts as DECIMAL(38, 18), texts as they are, what the table is about in its metadata."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = {TEXT: pa.string(), AMOUNT: pa.decimal128(DIGITS, DECIMALS), COUNT: pa.int64(), YES_NO: pa.bool_()}
    schema = pa.schema([pa.field(field.name, kinds[field.holds]) for field in fields], metadata=dict(about))
    columns = dict(zip(schema.names, _columns(fields, rows, _stored), strict=True))
    target = io.BytesIO()
    pq.write_table(pa.Table.from_pydict(columns, schema=schema), target, compression="zstd")
    return target.getvalue()


def _stored(value: Any, holds: str) -> Any:
    if holds != AMOUNT:
        return value.encode("utf-8", "replace").decode() if isinstance(value, str) else value
    number = decimal_of(value)
    if number is None:
        return None
    longer = -int(number.as_tuple().exponent) > DECIMALS
    return number.quantize(Decimal(1).scaleb(-DECIMALS), context=Context(prec=DIGITS)) if longer else number
