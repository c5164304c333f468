"""The mutation score: every mutant of the comparison and condition code held against the tests.

`python tests/mutation/mutation_score.py` tries all in a seeded order, each first by the test that killed it last time, then by the
tests of its file, and keeps which test kills which mutant; `--sample N` tries a seeded sample by the kept tests alone.
`--file PART` and `--minutes M` make the whole smaller; `--known` takes the kept tests at their word and tries the others.
The status is 1 where a mutant survives that equivalent.toml does not explain. Mutants that reach only words for people
are counted and not tried, see `mutants.ONLY_WORDS`.
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
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from equivalents import listed
from mutants import FILES, ROOT, Mutant, mutants
from trial import Fate, Tests, each_forked, try_out

import screening

KILLERS = Path(__file__).parent / "killers.csv"
OWN = {
    "screening/screen/compare.sql": (
        "tests/rules/test_comparison.py",
        "tests/rules/test_measured_conditions.py::test_a_depth_below_all_layers_has_no_level_and_says_why",
    ),
    "screening/screen/measure.py": ("tests/rules/test_bounds.py", "tests/rules/test_outcomes.py", "tests/rules/test_fractions.py"),
    "screening/screen/states.py": ("tests/rules/test_facts_of_a_sample.py", "tests/rules/test_results_that_decide.py"),
    "screening/screen/ranges.py": ("tests/rules/test_facts_of_a_sample.py", "tests/rules/test_measured_conditions.py"),
    "screening/screen/equivalents.py": ("tests/rules/test_decided_after.py", "tests/rules/test_outcomes.py"),
    "screening/screen/several.py": ("tests/rules/test_decided_after.py",),
    "screening/screen/duplicates.py": ("tests/rules/test_decided_after.py", "tests/rules/test_outcomes.py"),
    "screening/screen/outcomes.py": (
        "tests/rules/test_outcomes.py",
        "tests/rules/test_measured_conditions.py::test_a_sample_across_both_layers_is_open_where_they_disagree",
    ),
    "screening/screen/register.py": ("tests/rules/test_rows_laid_out.py",),
    "screening/screen/presence.py": ("tests/rules/test_rows_laid_out.py",),
    "screening/levels/bars.py": ("tests/rules/test_rounding.py", "tests/levels/test_boundaries.py"),
    "screening/levels/choose.py": ("tests/levels/test_choose.py", "tests/rules/test_pathways.py"),
    "screening/levels/phase_in.py": ("tests/levels/test_phase_in.py", "tests/rules/test_versions_in_use.py"),
    "screening/levels/shares.py": ("tests/levels/test_shares.py",),
    "screening/levels/figures.py": ("tests/levels/test_figures.py", "tests/levels/test_table.py"),
    "screening/levels/facts.py": ("tests/levels/test_ranges.py", "tests/levels/test_table.py", "tests/levels/test_choose.py::test_values_of_a_condition_neither_lie_apart_nor_apply_together_unless_the_table_says_so", "tests/rules/test_measured_conditions.py", "tests/rules/test_results_that_decide.py"),
    "screening/quality/chosen.py": ("tests/rules/test_chosen.py", "tests/rules/test_sampling_days.py", "tests/acceptance/test_at_04_two_runs.py"),
    "screening/quality/dry.py": ("tests/rules/test_dry.py", "tests/rules/test_basis_not_known.py", "tests/acceptance/test_at_06_wet_and_dry.py", "tests/properties/test_dry_weight.py"),
    "screening/decision/recommend.py": ("tests/rules/test_recommendation.py",),
}  # fmt: skip
"""Tests of the code of each file, the quick ones first: all of a file, or one."""

SEED = 4
KINDS = ("killed", "survived", "equivalent", "words only", "not run")


def _file(test: str) -> str:
    return test.partition("::")[0]


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


def tried(chosen: Sequence[Mutant], known: dict[str, str], tests: Tests, minutes: float, at_once: int) -> dict[Mutant, Fate]:
    """The fate of each mutant that there was time for. Of the tests of its file those that killed most so far come first."""
    end = time.monotonic() + minutes * 60
    kills = Counter[str]()

    def works() -> Iterator[Callable[[], Fate]]:
        for one in chosen:
            if time.monotonic() > end:
                return
            own = sorted(tests.of(OWN.get(one.file, ())), key=lambda each: -kills[each])
            yield partial(try_out, one, [known.get(name_of(one), ""), *own], tests)

    fates, killed_by = {}, dict(known)
    for number, fate in each_forked(works(), at_once, Fate(late=True)):
        mutant = chosen[number]
        fates[mutant] = fate
        kills[fate.killer] += 1
        if fate.killer:
            killed_by[name_of(mutant)] = fate.killer
        elif not fate.late:
            killed_by.pop(name_of(mutant), None)
            print(f"{_kind(mutant, fate).upper()} {mutant.file}:{mutant.line}: {mutant.told}\n    {mutant.text}", flush=True)
        if len(fates) % 20 == 0:
            write_killers(killed_by)
            print(f"{len(fates)} of {len(chosen)} tried", flush=True)
    write_killers(killed_by)
    return fates


def _explained(mutant: Mutant) -> bool:
    return any(one.holds(mutant) for one in _LISTED)


_LISTED = listed()


def table(fates: dict[Mutant, Fate]) -> str:
    """A line a file; the score is killed of those that are neither equivalent nor words alone, as far as they were tried."""
    lines = [f"{'file':<36}{'made':>7}" + "".join(f"{kind:>12}" for kind in KINDS)]
    whole = Counter[str]()
    for file in FILES:
        of_file = Counter(_kind(one, fate) for one, fate in fates.items() if one.file == file)
        whole += of_file
        lines.append(_row(file, of_file))
    judged = whole["killed"] + whole["survived"]
    lines += [_row("all", whole), f"score {100 * whole['killed'] / judged if judged else 100:.1f} %"]
    return "\n".join(lines)


def _row(name: str, of: Counter[str]) -> str:
    return f"{name:<36}{sum(of.values()):>7}" + "".join(f"{of[kind]:>12}" for kind in KINDS)


def _kind(mutant: Mutant, fate: Fate) -> str:
    if mutant.only_words:
        return "words only"
    if fate.killer:
        return "killed"
    return "not run" if fate.late else "equivalent" if _explained(mutant) else "survived"


def whole(part: str, minutes: float, at_once: int, *, trusting: bool) -> dict[Mutant, Fate]:
    """Try every mutant of the files whose name and line hold the part. ``trusting``: a kept killer counts without being run."""
    known = killers()
    chosen = [one for one in mutants() if part in f"{one.file}:{one.line}"]
    fates = {one: Fate(known[name_of(one)]) for one in chosen if trusting and name_of(one) in known}
    waiting = [one for one in chosen if one not in fates and not one.only_words]
    random.Random(SEED).shuffle(waiting)
    files = {_file(test) for one in waiting for test in OWN.get(one.file, ())}
    files |= {_file(known[name_of(one)]) for one in waiting if name_of(one) in known}
    present = sorted(file for file in files if (ROOT / file).exists())
    if waiting:
        fates |= Tests().collected(present, lambda tests: tried(waiting, known, tests, minutes, at_once))
    return {one: fates.get(one, Fate(late=True)) for one in chosen}


def sample(size: int) -> dict[Mutant, Fate]:
    """Try a seeded sample of the mutants whose killer is known, by that test alone."""
    known = killers()
    chosen = random.Random(SEED).sample([one for one in mutants() if name_of(one) in known and not one.only_words], size)

    def work(tests: Tests) -> dict[Mutant, Fate]:
        works = [partial(try_out, one, [known[name_of(one)]], tests) for one in chosen]
        return {chosen[number]: fate for number, fate in each_forked(works, 1, Fate(late=True))}

    found: dict[Mutant, Fate] = Tests().collected(sorted({_file(known[name_of(one)]) for one in chosen}), work)
    return found


def main(words: Sequence[str] | None = None) -> int:
    """Print the table; 1 where a mutant survives."""
    asked = argparse.ArgumentParser(description="Mutation score of the comparison and condition code.")
    asked.add_argument("--sample", type=int, default=0)
    asked.add_argument("--file", default="")
    asked.add_argument("--minutes", type=float, default=90)
    asked.add_argument("--at-once", type=int, default=os.cpu_count() or 1)
    asked.add_argument("--known", action="store_true")
    given = asked.parse_args(words)
    os.chdir(ROOT)
    warm()
    fates = sample(given.sample) if given.sample else whole(given.file, given.minutes, given.at_once, trusting=given.known)
    survived = [one for one, fate in fates.items() if _kind(one, fate) == "survived"]
    print(table(fates))
    for one in survived:
        print(f"survived: {one.file}:{one.line}: {one.told}\n    {one.text}")
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
