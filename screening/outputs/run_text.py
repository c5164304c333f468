"""People's text about runs made before: how each stands, what decided it, what differs between two and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from screening.decision.compare import chain_text
from screening.decision.differences import CAUSE_WORDS
from screening.decision.flips import KINDS
from screening.decision.sign_off import line
from screening.decision.words import STATUS_WORDS, place_text
from screening.outputs.change_words import factor_text, side_text
from screening.outputs.lines import LONGEST, bullets, head, rest, row, table
from screening.outputs.terminal import show_answer


def show_standing(out: Console, document: Mapping[str, Any]) -> None:
    """Why a run is stale, what newer law there is, and who signed it off; nothing where there is nothing to say."""
    if document["stale"]:
        out.print(Text(f"STALE: {', '.join(document['stale_because'])}", style="bold reverse"))
    for notice in document["notices"]:
        out.print(Text(f"notice: {notice}", style="bold"))
    for one in document.get("sign_offs", ()):
        out.print(Text(line(one), style="bold"))


def show_runs(out: Console, rows: Sequence[Mapping[str, Any]]) -> None:
    """Runs made before."""
    if not rows:
        out.print("no run yet")
        return
    made = table("run", "site", "made at (UTC)", "levels", "status", "E", "?", "state", right=("E", "?"))
    for one in rows[-LONGEST:]:
        row(
            made, one["run"], one["site"], one["made_at"], ", ".join(one["levels"]), one["status"].replace("_", " "),
            one["counts"]["exceeds"], one["counts"]["open"], _state(one),
        )  # fmt: skip
    if len(rows) > LONGEST:
        out.print(Text(f"the last {LONGEST} of {len(rows)} runs; --json lists all"))
    out.print(made)


def _state(one: Mapping[str, Any]) -> str:
    said = [f"stale: {', '.join(one['stale_because'])}" if one["stale"] else "current"]
    if one["made_by"] == "rescreen":
        said.append(f"by a rescreen on levels of {', '.join(one['rescreened_on'])}")
    elif one["last"]:
        said.append("the site's last")
    said += [line(entry) for entry in one["sign_offs"]]
    return "; ".join([*said, *one["notices"]])


def show_run(out: Console, document: Mapping[str, Any]) -> None:
    """A run as it was answered: how it stands above it, what decided it below."""
    out.print()
    show_standing(out, document)
    if document["made_by"] == "rescreen":
        out.print(Text(f"made by a rescreen on levels of {', '.join(document['rescreened_on'])}"))
    show_answer(out, document)
    decided = document["decided_by"]
    review = decided["review"] or {"none": ""}
    bullets(
        out, "What decided this run",
        [
            f"data state {decided['data'][:12]}: {len(decided['deliverables'])} deliverables, {decided['decisions']} decisions, "
            f"{len(decided['custody'])} custody records",
            f"site file {decided['site_file'][:12]}",
            *(f"levels {name}, text {sha256[:12]}" for name, sha256 in decided["levels"].items()),
            f"conditions: {_pairs(decided['conditions'])}",
            f"settings: {_pairs(decided['settings'])}",
            *(f"sampling rules named: {name}" for name in decided["sampling"]),
            *(f"review edition {name}{', text ' + sha256[:12] if sha256 else ''}" for name, sha256 in review.items()),
            *(f"rules of {name}, text {sha256[:12]}" for name, sha256 in decided["rules"].items()),
            f"software: version {decided['software'] or 'not told'}, engine {decided['engine']}",
        ],
    )  # fmt: skip


def _pairs(found: Mapping[str, str]) -> str:
    return ", ".join(f"{key} = {value}" for key, value in found.items()) or "none"


def show_reproduced(out: Console, found: Mapping[str, Any]) -> None:
    """Identical, or each part that differs and why."""
    if found["identical"]:
        out.print(Text(f"run {found['run']}: identical, byte for byte"))
    else:
        out.print(Text(f"run {found['run']}: differs in {', '.join(one['part'] for one in found['differences'])}", style="bold"))
        for cause in dict.fromkeys(one["cause"] for one in found["differences"]):
            out.print(Text(f"  cause: {cause}"))
    for file in found.get("files", ()):
        out.print(Text(f"written: {file}"))


def show_comparison(out: Console, found: Mapping[str, Any]) -> None:
    """How two runs differ: what decided them, the recommendation, each changed outcome with its chain of causes."""
    out.print()
    for side in ("before", "after"):
        one = found[side]
        out.print(Text(f"{side}: run {one['run']} of site {one['site']}, {STATUS_WORDS[one['status']]}", style="bold"))
        for text in (["STALE: " + ", ".join(one["stale_because"])] if one["stale"] else []) + one["notices"]:
            out.print(Text(f"  {text}"))
    if not found["differs_in"]:
        out.print(Text("the same data, law, conditions, settings and software"))
    for one in found["differs_in"]:
        out.print(Text(f"  {CAUSE_WORDS[one['cause']]}: {one['text']}"))
    for note in found["notes"]:
        out.print(Text(f"  {note}"))
    advice = found["recommendation"]
    for step in advice["chain"]:
        causes = " with ".join(CAUSE_WORDS[cause] for cause in step["causes"])
        out.print(Text(f"  recommendation {step['before']} to {step['after']}: {causes}".replace("_", " ")))
    changes = found["changes"]
    if not changes:
        out.print("no outcome differs")
        return
    counts = ", ".join(f"{count} by {CAUSE_WORDS[cause]}" for cause, count in found["counts"].items())
    head(out, f"Outcomes that differ: {len(changes)} ({counts})")
    made = table("location", "analyte", "before", "after", "cause")
    for change in changes[:LONGEST]:
        flip = f"{KINDS[change['flip']]}; " if change["flip"] else ""
        moved = factor_text(change)
        row(
            made, place_text({**change, "depth_unit": ""}), change["analyte"], side_text(change, "before"), side_text(change, "after"),
            f"{flip}{chain_text(change)}{'; level ' + moved if moved else ''}",
        )  # fmt: skip
    out.print(made)
    rest(out, changes)
