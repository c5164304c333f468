"""The detection score: every generated deliverable imported through the command line and held against its truth.

right: every result exactly as written, none missing, none extra, none held. stopped: refused or held, or the
weight basis left open, and nothing wrong among what was taken. wrong: anything taken differs from the truth, a result is missing without a word, or the import crashed.
"""

from __future__ import annotations

import argparse
import importlib.util
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from facts import UNIT, Case, Truth
from generator import cases

LIMITS = ("reporting_limit", "quantitation_limit", "detection_limit")
VERDICTS = ("right", "stopped", "wrong")


@dataclass(frozen=True)
class Scored:
    """What became of one case, and the first difference in words."""

    case: Case
    verdict: str
    because: str


def office_in(folder: Path) -> Any:
    """The office the tests share, from the conftest beside this folder."""
    found = importlib.util.spec_from_file_location("office_of_the_tests", Path(__file__).parents[1] / "conftest.py")
    assert found and found.loader
    module = importlib.util.module_from_spec(found)
    sys.modules[found.name] = module
    found.loader.exec_module(module)
    return module.Office(folder)


def _number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def difference(result: Mapping[str, Any], truth: Truth) -> str:
    """The first thing a result states otherwise than the file; empty where there is none."""
    expected: list[tuple[str, object, object]] = [
        ("kind", result["sample_kind"], "field"),
        ("medium", result["medium"], truth.medium),
        ("unit", result["unit"], UNIT[truth.medium]),
        ("detected", result["detected"], truth.detected),
        ("estimated", "J" in result["lab_qualifiers"].upper(), truth.estimated),
    ]
    if truth.medium == "soil" and result["basis"]:
        expected.append(("basis", result["basis"], "dry"))
    if truth.detected:
        expected.append(("value", _number(result["value"]), truth.number))
    else:
        expected += [("value", result["value"], None), ("limit", _number(result["limit"]), truth.number)]
    stated = dict(truth.limits)
    for name in LIMITS:
        number = _number(result[name])
        harmless = number is None or (not truth.detected and number == truth.number)
        if name in stated or not harmless:
            expected.append((name, number, stated.get(name)))
    for what, found, meant in expected:
        if found != meant:
            return f"{truth.sample} {truth.analyte}: {what} {found!s}, the file says {meant!s}"
    return ""


def compare(results: Iterable[Mapping[str, Any]], truth: Iterable[Truth]) -> tuple[str, int]:
    """The first thing wrong among the results taken, and how many results of the file were not taken."""
    waiting = {(one.sample, one.analyte): one for one in truth}
    for result in results:
        key = (result["sample_id"], result["analyte"])
        meant = waiting.pop(key, None)
        if meant is None:
            return f"extra result {key[0]} {key[1]} from {result['source']['text']!r} row {result['source']['row']}", 0
        if said := difference(result, meant):
            return f"{said} ({result['source']['text']!r} row {result['source']['row']})", 0
    return "", len(waiting)


def score(case: Case, office: Any, folder: Path) -> Scored:
    """Import one case at a site of its own and class what came of it."""
    site = case.name.replace("_", "-")
    assert office.plain_site(site).status == 0
    words = [word for setting in case.settings for word in ("--set", setting)]
    try:
        said = office.run("import", *(folder / file for file in case.files), "--site", site, *words)
    except Exception as error:
        return Scored(case, "wrong", f"crashed: {type(error).__name__}: {error}")
    taken = office.stored(site)
    wrong, missing = compare(taken, case.truth)
    if wrong:
        return Scored(case, "wrong", wrong)
    deliverables = (said.document or {}).get("deliverables", [])
    held = [one for deliverable in deliverables for one in deliverable["held_back"]]
    if held:
        reasons = Counter(one["reason"] for one in held).most_common(1)[0]
        return Scored(case, "stopped", f"{len(held)} held, {reasons[1]} because: {reasons[0]} ({held[0]['text']!r})")
    if said.status == 1:
        return Scored(case, "stopped", "refused: " + " ".join(said.error.split()))
    if any(result["medium"] == "soil" and not result["basis"] for result in taken):
        return Scored(case, "stopped", "the weight basis was not read: every comparison of a soil result stays open")
    if missing:
        return Scored(case, "wrong", f"{missing} results of {len(case.truth)} passed over in silence")
    return Scored(case, "right", "")


def score_all(folder: Path, every: int = 1) -> list[Scored]:
    """Write the corpus (or every so many-th case) into the folder and score it in one store."""
    office = office_in(folder)
    office.reviewed = False
    return [score(case, office, folder) for case in cases(folder, every)]


def table(scored: list[Scored]) -> str:
    """The score by dimension, and every failing case with its first difference."""
    lines: list[str] = []
    counts: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for one in scored:
        for dimension in (("all", "cases"), *one.case.made_of):
            counts[dimension][one.verdict] += 1
    last = ""
    for (dimension, value), found in sorted(counts.items(), key=lambda entry: (entry[0][0] != "all", entry[0])):
        if dimension != last:
            lines.append(f"\n{dimension:<38}" + "".join(f"{verdict:>9}" for verdict in ("cases", *VERDICTS)))
            last = dimension
        figures = (found.total(), *(found[verdict] for verdict in VERDICTS))
        lines.append(f"  {value:<36}" + "".join(f"{figure:>9}" for figure in figures))
    failing = sorted((one for one in scored if one.verdict != "right"), key=lambda one: (one.verdict != "wrong", one.case.name))
    lines += ["", *(f"{one.verdict:<8} {one.case.name}: {one.because[:300]}" for one in failing)]
    right = sum(one.verdict == "right" for one in scored)
    wrong = sum(one.verdict == "wrong" for one in scored)
    lines.append(f"\n{right} of {len(scored)} right ({100 * right / len(scored):.1f} %), {wrong} wrong")
    return "\n".join(lines)


def main() -> int:
    """Print the score; status 0 where it meets the goal."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--every", type=int, default=1, help="score only every so many-th case")
    parser.add_argument("--keep", type=Path, help="a folder that keeps the deliverables and the store")
    chosen = parser.parse_args()
    if chosen.keep:
        chosen.keep.mkdir(parents=True, exist_ok=True)
        scored = score_all(chosen.keep, chosen.every)
    else:
        with tempfile.TemporaryDirectory() as folder:
            scored = score_all(Path(folder), chosen.every)
    print(table(scored))
    return 0 if meets_goal(scored) else 1


def meets_goal(scored: list[Scored]) -> bool:
    """Nothing wrong, and at least 98 in a hundred right."""
    right = sum(one.verdict == "right" for one in scored)
    return not any(one.verdict == "wrong" for one in scored) and 100 * right >= 98 * len(scored)


if __name__ == "__main__":
    raise SystemExit(main())
