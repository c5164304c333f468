"""People's text of upkeep: what a backup holds, what a restore kept, what the doctor found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text


def show_backup(out: Console, made: Mapping[str, Any]) -> None:
    """Where the copy is, how large, its hash, and how many rows it holds."""
    rows = sum(made["rows"].values())
    out.print(Text(f"{made['file']}: {rows} rows in {len(made['rows'])} tables, {made['bytes']} bytes, read again and alike"))
    out.print(Text(f"sha256 {made['sha256']}"), soft_wrap=True)


def show_restore(out: Console, made: Mapping[str, Any]) -> None:
    """What was put where, and where the former store is."""
    out.print(Text(f"{made['database']}: {sum(made['rows'].values())} rows as {made['file']} holds them"), soft_wrap=True)
    if made["kept_aside"]:
        out.print(Text(f"the store that was there is kept as {made['kept_aside']}"), soft_wrap=True)


def show_health(out: Console, found: Mapping[str, Any]) -> None:
    """Each law with what was looked at, and every problem below it."""
    for check in found["checks"]:
        mark = f"{len(check['problems']) + check['more']} problems" if check["problems"] else "sound"
        out.print(Text(f"{check['check']}: {mark} ({check['title']}; {check['looked']} looked at)"))
        for one in check["problems"]:
            out.print(Text(f"  {one['table']} {one['row']}: {one['text']}".replace(" :", ":")))
        if check["more"]:
            out.print(Text(f"  ... and {check['more']} more"))
    if found["sound"]:
        out.print(Text("the store is sound"))
    else:
        out.print(
            Text("the store is not sound: keep a copy of it as it is, and restore the last backup that the doctor finds sound")
        )
