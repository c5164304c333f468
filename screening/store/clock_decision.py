"""A person's word that the machine's clock is right and entries dated later are dated wrongly."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from screening.errors import Refused
from screening.store.clock import FOUND_RIGHT, last_entry, machine_clock
from screening.store.database import transaction
from screening.store.ledger import Act, append_all

if TYPE_CHECKING:
    import duckdb


def found_right(connection: duckdb.DuckDBPyConnection, by_whom: str, why: str) -> dict[str, Any]:
    """Note in the ledger that entries dated after now are dated wrongly; they stay as they are and hinder no further one.

    Raises `Refused` where there are none, and without name or reason.
    """
    machine, last = machine_clock(), last_entry(connection)
    if last is None or last <= machine:
        raise Refused("no entry of the store is dated after the clock of this machine; there is nothing to settle")
    with transaction(connection):
        act = Act("", FOUND_RIGHT, "clock", last.isoformat(sep=" "), machine.isoformat(sep=" ", timespec="seconds"))
        (number,) = append_all(connection, [act], by_whom, why, machine)
    return {"number": number, "last_entry": act.old_text, "clock": act.new_text, "by": by_whom, "why": why}
