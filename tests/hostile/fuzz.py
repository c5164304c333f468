"""Many hostile files for everything that reads one: `python tests/hostile/fuzz.py --inputs 100000` (`make fuzz`).

Each input follows from the seed and its number. It must be read or refused: no crash, no more than 10 s of processor time, no more
than 1 GiB of memory, no network, no other program, no file written outside its folder. Workers that die or hang are
replaced and what they were at is told. Prints a table, writes it as JSON with --json, keeps every finding with --keep.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Mapping
from contextlib import redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import seeds
from guard import BYTES, SECONDS, Trespass, peak, watched
from mutate import spoiled
from targets import GOOD, targets

from screening.errors import Refused

SEED = "hostile"


@dataclass(frozen=True)
class Tried:
    """What became of one input: 'read', 'refused' or what went wrong, where, and how much it took."""

    target: str
    became: str
    where: str
    seconds: float
    peak: int


def input_of(seed: str, number: int, kinds: Mapping[str, Any]) -> tuple[str, str, bytes]:
    """The target, the ending and the bytes of one input."""
    chance = random.Random(f"{seed} {number}")
    (name,) = chance.choices(list(kinds), [share for share, _, _ in kinds.values()])
    _, held, _ = kinds[name]
    ending = chance.choice(list(held))
    return name, ending, spoiled(chance.choice(held[ending]), ending, chance)


def attempt(number: int, folder: Path, kinds: Mapping[str, Any], seed: str = SEED) -> Tried:
    """Try one input in a folder of its own."""
    name, ending, data = input_of(seed, number, kinds)
    path = folder / f"input{ending}"
    path.write_bytes(data)
    peak(begin=True)
    begun = time.process_time()
    became, where = "read", ""
    try:
        with watched(folder), redirect_stdout(StringIO()) as said:
            kinds[name][2](path)
        if said.getvalue():  # it would stand before the JSON of a command
            became = f"printed {said.getvalue()[:60]!r}"
    except Refused as error:
        became = "refused" if str(error).strip() else "a refusal without a word"
    except (Exception, Trespass) as error:
        frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "/screening/" in frame.filename]
        where = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
        became = f"{type(error).__name__}: {str(error)[:120]!r}"
    except BaseException as error:  # what a library raises beside all that Python knows, as a panic
        if isinstance(error, KeyboardInterrupt | SystemExit):
            raise
        became = f"{type(error).__name__}: {str(error)[:120]!r}"
    seconds, most = time.process_time() - begun, peak()
    if seconds > SECONDS:
        became = f"more than {SECONDS} s; {became}"
    if most > BYTES:
        became = f"more than {BYTES >> 30} GiB; {became}"
    return Tried(name, became, where, seconds, most)


def prepare(folder: Path) -> None:
    """Go to a folder that holds the good deliverable."""
    os.chdir(folder)
    GOOD.write_bytes(seeds.text(seeds.LONG))


def work(first: int, beyond: int, step: int, seed: str) -> None:
    """A worker: tells each number before it is tried and what became of it."""
    resource.setrlimit(resource.RLIMIT_AS, (12 * BYTES, 12 * BYTES))
    kinds = targets()
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    with tempfile.TemporaryDirectory() as name:
        prepare(Path(name))
        for number in range(first, beyond, step):
            print(json.dumps({"number": number}), file=answers, flush=True)
            print(json.dumps(vars(attempt(number, Path(name), kinds, seed))), file=answers, flush=True)


@dataclass
class Worker:
    """A running worker and the number that it is at."""

    process: subprocess.Popen[str]
    at: int
    since: float = 0.0


def _processor_time(number: int) -> float:
    try:
        fields = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def run(inputs: int, seed: str, step: int, start: int = 0, minutes: float = 0) -> dict[str, Any]:
    """Try so many inputs in ``step`` workers side by side, for no longer than that (0: to the end); the document of the command."""
    until = time.monotonic() + minutes * 60 if minutes else float("inf")
    import selectors

    counts: Counter[tuple[str, str]] = Counter()
    findings: list[dict[str, Any]] = []
    slowest, largest = ("", 0.0), ("", 0)
    kinds = targets()
    chosen = selectors.DefaultSelector()

    def begin(first: int) -> None:
        if first < inputs:
            words = [sys.executable, "-W", "ignore", __file__, "--worker", str(first), str(inputs), str(step), seed]
            process = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
            assert process.stdout is not None
            chosen.register(process.stdout, selectors.EVENT_READ, Worker(process, first))

    def told(number: int, tried: Mapping[str, Any]) -> None:
        nonlocal slowest, largest
        good = tried["became"] in ("read", "refused")
        counts[tried["target"], tried["became"] if good else "found"] += 1
        slowest = max(slowest, (f"{tried['target']} {number}", tried["seconds"]), key=lambda one: one[1])
        largest = max(largest, (f"{tried['target']} {number}", tried["peak"]), key=lambda one: one[1])
        if not good:
            findings.append({"number": number, **tried})
            print(f"input {number} of {tried['target']}: {tried['became']} {tried['where']}", file=sys.stderr, flush=True)

    for number in range(step):
        begin(start + number)
    while chosen.get_map():
        if time.monotonic() > until:
            for key in list(chosen.get_map().values()):
                key.data.process.kill()
                key.data.process.wait()
            break
        for key, _ in chosen.select(timeout=2):
            line, worker = key.fileobj.readline(), key.data  # type: ignore[union-attr]
            if line:
                said = json.loads(line)
                if "number" in said:
                    worker.at, worker.since = said["number"], _processor_time(worker.process.pid)
                    if worker.at % 500 < step:
                        print(f"... {worker.at} of {inputs}", file=sys.stderr, flush=True)
                else:
                    told(worker.at, said)
                    worker.since = 0.0
                continue
            chosen.unregister(key.fileobj)
            ended = worker.process.wait()
            if ended:
                name, _, _ = input_of(seed, worker.at, kinds)
                told(
                    worker.at,
                    {"target": name, "became": f"the process ended with {ended}", "where": "", "seconds": 0.0, "peak": 0},
                )
                begin(worker.at + step)
        for key in list(chosen.get_map().values()):
            worker = key.data
            if (
                worker.since
                and worker.process.poll() is None
                and _processor_time(worker.process.pid) - worker.since > 2 * SECONDS
            ):
                worker.process.send_signal(signal.SIGKILL)
    return {
        "inputs": sum(counts.values()), "seed": seed, "findings": findings, "slowest": {"input": slowest[0], "seconds": round(slowest[1], 2)},
        "largest": {"input": largest[0], "mebibytes": largest[1] >> 20},
        "counts": {name: {became: counts[name, became] for became in ("read", "refused", "found")} for name in kinds},
    }  # fmt: skip


def main() -> int:
    """Run, print, keep; status 1 where anything was found."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--inputs", type=int, default=1000)
    words.add_argument("--start", type=int, default=0)
    words.add_argument("--minutes", type=float, default=0, help="stop after so many, and tell what was done")
    words.add_argument("--seed", default=SEED)
    words.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    words.add_argument("--json", type=Path)
    words.add_argument("--keep", type=Path, help="a folder for the inputs found")
    words.add_argument("--worker", nargs=4, help=argparse.SUPPRESS)
    asked = words.parse_args()
    if asked.worker:
        work(*map(int, asked.worker[:3]), asked.worker[3])
        return 0
    found = run(asked.inputs, asked.seed, asked.workers, asked.start, asked.minutes)
    print(f"{'target':<14}{'tried':>9}{'read':>9}{'refused':>9}{'found':>7}")
    for name, told in found["counts"].items():
        print(f"{name:<14}{sum(told.values()):>9}{told['read']:>9}{told['refused']:>9}{told['found']:>7}")
    print(f"{found['inputs']} inputs, {len(found['findings'])} findings; slowest {found['slowest']}, largest {found['largest']}")
    if asked.json:
        asked.json.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    if asked.keep:
        asked.keep.mkdir(parents=True, exist_ok=True)
        for one in found["findings"]:
            _, ending, data = input_of(asked.seed, one["number"], targets())
            (asked.keep / f"{one['target']}-{one['number']}{ending}").write_bytes(data)
    return 1 if found["findings"] else 0


if __name__ == "__main__":
    raise SystemExit(main())
