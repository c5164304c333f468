"""The mutation score: every mutant of the comparison and condition code held against the tests.

`python tests/mutation/score.py` tries all and writes anew which test kills which mutant; `--sample N` tries a seeded
sample by those tests alone. `--file PART` and `--minutes M` make the whole smaller. The status is 1 where a mutant
survives that equivalent.toml does not explain.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import importlib
import os
import pkgutil
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from equivalents import listed
from mutants import FILES, ROOT, Mutant, mutants
from recorded import Asked, read, record
from trial import Fate, each_forked, fails, try_out

import screening

KILLERS = Path(__file__).parent / "killers.csv"
SCREENED = ("tests/rules", "tests/acceptance", "tests/demo", "tests/levels/test_boundaries.py")
"""Tests whose comparisons are kept; `recorded` says why."""

LEVELS = (
    *(f"tests/levels/test_{name}.py" for name in ("choose", "figures", "table", "phase_in", "versions")),
    *(f"tests/rules/test_{name}.py" for name in ("rounding", "versions_in_use", "pathways", "measured_conditions")),
    "tests/levels/test_boundaries.py",
)
"""Tests of the code that prepares the levels, before any comparison."""

SEED = 4


def name_of(mutant: Mutant) -> str:
    """A short name that stays while the line stays."""
    return hashlib.sha256(repr(mutant.key).encode()).hexdigest()[:12]


def killers() -> dict[str, str]:
    """Which test killed a mutant last time."""
    if not KILLERS.exists():
        return {}
    with KILLERS.open(encoding="utf-8", newline="") as file:
        return {row["mutant"]: row["test"] for row in csv.DictReader(file)}


def write_killers(found: dict[str, str]) -> None:
    """Keep them, without those of mutants that are no more."""
    known = {name_of(one) for one in mutants()}
    with KILLERS.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("mutant", "test"))
        writer.writerows(sorted((name, test) for name, test in found.items() if name in known))


def warm() -> None:
    """Import everything once, before any fork."""
    for one in pkgutil.walk_packages(screening.__path__, "screening."):
        if not one.name.endswith("__main__"):
            importlib.import_module(one.name)
    for name in ("hypothesis", "openpyxl", "xlsxwriter"):
        importlib.import_module(name)


def _recorded(to: Path) -> list[Asked]:
    for _, failed in each_forked([partial(record, SCREENED, to)], 1, 1):
        if failed:
            raise SystemExit("the tests fail without any mutant; mend them first")
    return read(to)


def tried(chosen: Sequence[Mutant], known: dict[str, str], asked: Sequence[Asked], minutes: float) -> dict[Mutant, Fate]:
    """The fate of each mutant that there was time for."""
    end = time.monotonic() + minutes * 60
    order = Counter[str]()

    def works() -> Any:
        for one in chosen:
            if time.monotonic() > end:
                return
            levels = "/levels/" in one.file
            sorted_ = [] if levels else sorted(asked, key=lambda each: -order[each.test])
            yield partial(try_out, one, known.get(name_of(one), ""), sorted_, LEVELS if levels else ())

    fates = {}
    for number, fate in each_forked(works(), os.cpu_count() or 1, Fate("a time limit")):
        fates[chosen[number]] = fate
        order[fate.killer] += 1
        if not fate.killer:
            print(_line(chosen[number], fate), flush=True)
    return fates


def _line(mutant: Mutant, fate: Fate) -> str:
    why = "explained" if _explained(mutant) else "SURVIVES"
    seen = f" (verdicts change in {', '.join(fate.verdict_changes[:2])})" if fate.verdict_changes else ""
    words = f" (words change in {len(fate.word_changes)} tests)" if fate.word_changes else ""
    return f"{why} {mutant.file}:{mutant.line}: {mutant.told}{seen}{words}\n    {mutant.text}"


def _explained(mutant: Mutant) -> bool:
    return any(one.holds(mutant) for one in _LISTED)


_LISTED = listed()


def table(fates: dict[Mutant, Fate]) -> str:
    """File, mutants, killed, equivalent, survived; the score is killed of those that are not equivalent."""
    lines = [f"{'file':<36}{'made':>7}{'killed':>8}{'equivalent':>12}{'survived':>10}"]
    whole = Counter[str]()
    for file in FILES:
        of_file = Counter(_kind(one, fate) for one, fate in fates.items() if one.file == file)
        whole += of_file
        lines.append(_row(file, of_file))
    judged = whole["killed"] + whole["survived"]
    lines += [_row("all", whole), f"score {100 * whole['killed'] / judged if judged else 100:.1f} %"]
    return "\n".join(lines)


def _row(name: str, of: Counter[str]) -> str:
    return f"{name:<36}{sum(of.values()):>7}{of['killed']:>8}{of['equivalent']:>12}{of['survived']:>10}"


def _kind(mutant: Mutant, fate: Fate) -> str:
    return "killed" if fate.killer else "equivalent" if _explained(mutant) else "survived"


def whole(part: str, minutes: float, keep: Path | None) -> dict[Mutant, Fate]:
    """Try every mutant of the files whose name holds the part."""
    known = killers()
    with tempfile.TemporaryDirectory() as folder:
        asked = read(keep) if keep and keep.exists() else _recorded(keep or Path(folder) / "asked")
        chosen = [one for one in mutants() if part in f"{one.file}:{one.line}"]
        fates = tried(chosen, known, asked, minutes)
    known |= {name_of(one): fate.killer for one, fate in fates.items() if fate.killer}
    for one, fate in fates.items():
        if not fate.killer:
            known.pop(name_of(one), None)
    write_killers(known)
    if len(fates) < len(chosen):
        print(f"time is over: {len(chosen) - len(fates)} mutants were not tried")
    return fates


def sample(size: int) -> dict[Mutant, Fate]:
    """Try a seeded sample of the mutants whose killer is known, by that test alone."""
    known = killers()
    chosen = random.Random(SEED).sample([one for one in mutants() if name_of(one) in known], size)
    works: list[Callable[[], Any]] = [partial(_by_killer, one, known[name_of(one)]) for one in chosen]
    return {chosen[number]: fate for number, fate in each_forked(works, 1, Fate("a time limit"))}


def _by_killer(mutant: Mutant, test: str) -> Fate:
    mutant.insert()
    return Fate(test if test == "a time limit" or fails(test) else "")


def main(words: Sequence[str] | None = None) -> int:
    """Print the table; 1 where a mutant survives."""
    asked = argparse.ArgumentParser(description="Mutation score of the comparison and condition code.")
    asked.add_argument("--sample", type=int, default=0)
    asked.add_argument("--file", default="")
    asked.add_argument("--minutes", type=float, default=90)
    asked.add_argument("--keep", type=Path, default=None)
    given = asked.parse_args(words)
    os.chdir(ROOT)
    warm()
    fates = sample(given.sample) if given.sample else whole(given.file, given.minutes, given.keep)
    survived = [one for one, fate in fates.items() if _kind(one, fate) == "survived"]
    print(table(fates))
    for one in survived:
        print(f"survived: {one.file}:{one.line}: {one.told}\n    {one.text}")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
