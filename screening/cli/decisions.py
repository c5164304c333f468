"""Commands on what people decided: sign-off, signed-off, decisions."""

from __future__ import annotations

import click

from screening.cli.common import NEEDS_EYES, Session, command, global_options
from screening.cli.group import screening


@command(screening, "sign-off")
@click.argument("run")
@click.option("--by", "by_whom", required=True, metavar="NAME")
@click.option("--licence", default="", metavar="TEXT", help="The licence under which NAME signs.")
@click.option("--why", required=True, metavar="TEXT")
@click.option("--although-stale", is_flag=True, help="Sign the answer about a day that is past, or on data since revised.")
def sign_off(session: Session, run: str, by_whom: str, licence: str, why: str, although_stale: bool) -> None:
    """Sign a run off on its state of the data and of the law; once either moves on, the sign-off says so."""
    from screening.decision.sign_off import sign_off
    from screening.outputs.decision_text import show_sign_off
    from screening.store.database import opened

    with opened(session.database) as connection:
        made = sign_off(connection, session.today(connection), run, by_whom, licence, why, although_stale=although_stale)
    session.answer({"sign_off": made}, lambda: show_sign_off(session.console(), made))


@screening.group("signed-off")
@global_options
def signed_off_group() -> None:
    """Sign-offs: list how each stands, withdraw one."""


@command(signed_off_group, "list")
@click.option("--site", "sites", multiple=True, help="Only of this site.")
@click.pass_context
def signed_off_list(context: click.Context, session: Session, sites: tuple[str, ...]) -> None:
    """List the sign-offs, and whether each stands, is stale or was withdrawn; ends with status 3 where one is stale."""
    from screening.decision.sign_off import signed_off
    from screening.outputs.decision_text import show_sign_offs
    from screening.store.database import opened
    from screening.store.sites import site_of

    with opened(session.database) as connection:
        for site in sites:
            site_of(connection, site)
        found = signed_off(connection, session.today(connection), sites)
    session.answer({"signed_off": found}, lambda: show_sign_offs(session.console(), found))
    context.exit(NEEDS_EYES if any(one["status"].startswith("stale") for one in found) else 0)


@command(signed_off_group, "withdraw")
@click.argument("sign_off", metavar="SIGN_OFF")
@click.option("--by", "by_whom", required=True, metavar="NAME")
@click.option("--why", required=True, metavar="TEXT")
def signed_off_withdraw(session: Session, sign_off: str, by_whom: str, why: str) -> None:
    """Withdraw a sign-off, named as 'signed-off list' does or by its run; the entry stays, another is added."""
    from screening.decision.sign_off import withdraw
    from screening.outputs.decision_text import show_sign_off
    from screening.store.database import opened

    with opened(session.database) as connection:
        made = withdraw(connection, session.today(connection), sign_off, by_whom, why)
    session.answer({"sign_off": made}, lambda: show_sign_off(session.console(), made))


@screening.group("decisions")
@global_options
def decisions() -> None:
    """What people decided, append-only and sealed: list, verify."""


@command(decisions, "list")
@click.option("--site", help="Only of this site, with what was decided for all (default: every entry).")
def decisions_list(session: Session, site: str | None) -> None:
    """List decisions in their order: held rows, overrides, what was taught, levels added, sign-offs."""
    from screening.decision.decisions import list_decisions
    from screening.outputs.decision_text import show_decisions
    from screening.store.database import opened
    from screening.store.sites import site_of

    with opened(session.database) as connection:
        if site is not None:
            site_of(connection, site)
        found = list_decisions(connection, site)
    session.answer({"decisions": found}, lambda: show_decisions(session.console(), found))


@command(decisions, "verify")
@click.option("--holds", metavar="SEAL", help="A seal noted elsewhere, which the chain must hold.")
@click.pass_context
def decisions_verify(context: click.Context, session: Session, holds: str | None) -> None:
    """Verify the chain of seals over all decisions and name the first entry that is not what was written (status 3)."""
    from screening.decision.decisions import verify
    from screening.outputs.decision_text import show_verified
    from screening.store.database import opened

    with opened(session.database) as connection:
        found = verify(connection, holds)
    session.answer(found, lambda: show_verified(session.console(), found))
    context.exit(0 if found["whole"] else NEEDS_EYES)


@command(decisions, "clock-is-right")
@click.option("--by", "by_whom", required=True, metavar="NAME")
@click.option("--why", required=True, metavar="TEXT")
def decisions_clock(session: Session, by_whom: str, why: str) -> None:
    """Say that this machine's clock is right and entries dated later are dated wrongly; they stay, and new ones can be made."""
    from screening.store.clock_decision import found_right
    from screening.store.database import opened

    with opened(session.database) as connection:
        made = found_right(connection, by_whom, why)
    said = f"entries up to {made['last_entry']} are dated wrongly, {by_whom} says: {why}"
    session.answer({"clock": made}, lambda: session.console().print(said, markup=False, highlight=False))
