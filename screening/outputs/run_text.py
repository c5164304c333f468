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
    """Runs made before; what a reader must know of them stands below the list."""
    if not rows:
        out.print("no run yet")
        return
    made = table("run", "site", "made on", "levels", "status", "E", "?", "state", right=("E", "?"))
    shown = rows[-LONGEST:]
    for one in shown:
        row(
            made, one["run"], one["site"], one["made_at"][:10], ", ".join(one["levels"]), one["status"].replace("_", " "),
            one["counts"]["exceeds"], one["counts"]["open"], _state(one), unbroken=14,
        )  # fmt: skip
    if len(rows) > LONGEST:
        out.print(Text(f"the last {LONGEST} of {len(rows)} runs; --json lists all"))
    out.print(made)
    told: dict[str, list[str]] = {}
    for one in shown:
        stale = [f"stale: {reason}" for reason in one["stale_because"]]
        asked = [f"made by a rescreen on levels of {', '.join(one['rescreened_on'])}"] if one["made_by"] == "rescreen" else []
        for text in (*stale, *one["notices"], *asked, *(line(entry) for entry in one["sign_offs"])):
            told.setdefault(text, []).append(one["run"])
    bullets(out, "To know", [f"{text}: {_several(runs)}" for text, runs in told.items()])


def _several(runs: Sequence[str]) -> str:
    more = f" and {len(runs) - 4} more" if len(runs) > 4 else ""
    return f"{', '.join(runs[:4])}{more}"


def _state(one: Mapping[str, Any]) -> str:
    """A few words: STALE, the site's last, made by a rescreen, signed off."""
    words = {
        "STALE": one["stale"], "last": one["last"], "rescreen": one["made_by"] == "rescreen",
        "signed": any(entry["withdrawn"] is None for entry in one["sign_offs"]),
        "sign-off stale": any(entry["status"].startswith("stale") for entry in one["sign_offs"]),
    }  # fmt: skip
    return ", ".join(word for word, holds in words.items() if holds) or "current"


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
    counts = ", ".join(f"{CAUSE_WORDS[cause]} {count}" for cause, count in found["counts"].items())
    head(out, f"Outcomes that differ: {len(changes)} ({counts})")
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for change in changes[:LONGEST]:
        groups.setdefault(chain_text(change), []).append(change)
    for chain, members in groups.items():
        out.print(Text(f"{chain}: {len(members)}", style="bold"))
        made = table("location", "analyte", "before", "after", "flip and level")
        for change in members:
            said = [KINDS[change["flip"]] if change["flip"] else "", factor_text(change)]
            row(
                made, place_text({**change, "depth_unit": ""}), change["analyte"], side_text(change, "before"),
                side_text(change, "after"), "; ".join(part for part in said if part), unbroken=14,
            )  # fmt: skip
        out.print(made)
    rest(out, changes)
