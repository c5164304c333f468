"""People's text about decisions and sign-offs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from screening.decision.decisions import KIND_WORDS, told
from screening.decision.sign_off import line
from screening.outputs.lines import LONGEST, bullets, row, table


def show_sign_off(out: Console, one: dict[str, Any]) -> None:
    """A sign-off just made or withdrawn."""
    out.print(Text(f"{one['id']}: run {one['run']} {line(one)}"))


def show_sign_offs(out: Console, found: Sequence[Mapping[str, Any]]) -> None:
    """Each sign-off with how it stands."""
    if not found:
        out.print("no run is signed off")
        return
    made = table("", "run", "site", "signed by", "on (UTC)", "data state", "status")
    for one in found:
        by = f"{one['by']} ({one['licence']})" if one["licence"] else one["by"]
        row(made, one["id"], one["run"], one["site"], by, one["made_at"][:16], one["data"], one["status"], unbroken=14)
    out.print(made)
    bullets(out, "To know", [f"{one['id']}: {text}" for one in found for text in _beside(one)])


def _beside(one: Mapping[str, Any]) -> list[str]:
    gone = one["withdrawn"]
    return [
        *([f"withdrawn by {gone['by']} on {gone['made_at']} UTC: {gone['why']}"] if gone else []),
        *([f"signed although {', '.join(one['signed_although'])}"] if one["signed_although"] else []),
        *one["notices"],
    ]


def show_decisions(out: Console, found: Sequence[dict[str, Any]]) -> None:
    """The entries of the ledger, the newest last."""
    if not found:
        out.print("nothing was decided yet")
        return
    made = table("", "made at (UTC)", "site", "what", "by", "of what, and why", right=("",))
    for one in found[-LONGEST:]:
        said = f"{told(one)} ({one['why']})"
        row(
            made,
            one["number"],
            one["made_at"],
            one["site"] or "all",
            KIND_WORDS.get(one["kind"], one["kind"]),
            one["by"],
            said,
            unbroken=16,
        )
    if len(found) > LONGEST:
        out.print(Text(f"the last {LONGEST} of {len(found)}; --json lists all"))
    out.print(made)


def show_verified(out: Console, found: Mapping[str, Any]) -> None:
    """Whether the chain is whole, else its first broken entry."""
    if found["whole"]:
        seal = (
            f"; the last seal is {found['last_seal'][:16]}, note it elsewhere and say it with --holds" if found["entries"] else ""
        )
        out.print(Text(f"{found['entries']} decisions, every seal fits{seal}"))
        return
    broken = found["first_broken"]
    out.print(Text(f"BROKEN: {broken['text']}", style="bold reverse"))
    entry = broken["entry"]
    if entry:
        kind = KIND_WORDS.get(entry["kind"], entry["kind"])
        out.print(
            Text(
                f"  it says now: {kind} by {entry['by']} on {entry['made_at']} UTC: {entry['old_text']} {entry['new_text']} ({entry['why']})"
            )
        )
    out.print(Text("  the store was changed outside this program; take a copy from before and compare"))
