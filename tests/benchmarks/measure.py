"""One step measured in a process of its own: seconds by the clock, seconds of the processor, peak memory of the whole process."""

from __future__ import annotations

import math
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

PYTHON = sys.executable
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Taken:
    """What one step took; ``worked`` are processor seconds, which say more than the clock where others use the machine too."""

    clock: float
    worked: float
    peak_mib: float
    output: str


def run(*words: object, statuses: Sequence[int] = (0, 3)) -> Taken:
    """A command in a process of its own. Raises `RuntimeError` with its last words where it fails."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err, tempfile.NamedTemporaryFile("r") as told:
        # compiled modules are kept, as where the program is installed; a small process starts it: the peak memory of whoever starts a process counts as the process's own
        starter = [PYTHON, "-I", "-S", "-c", STARTER, told.name, *(str(word) for word in words)]
        status = subprocess.call(
            starter, stdout=out, stderr=err, env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": ""}
        )
        out.seek(0)
        err.seek(0)
        if status not in statuses:
            raise RuntimeError(f"{' '.join(map(str, words))}: {err.read().decode()[-800:]}")
        clock, worked, peak = map(float, told.read().split())
        return Taken(clock, worked, peak, out.read().decode())


STARTER = """
import os, sys, time
begun = time.perf_counter()
child = os.posix_spawn(sys.argv[2], sys.argv[2:], os.environ)
_, status, used = os.wait4(child, 0)
with open(sys.argv[1], "w") as told:
    print(time.perf_counter() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, file=told)
sys.exit(os.waitstatus_to_exitcode(status))
"""


def screening(database: Path, *words: object) -> Taken:
    """A command of the tool on a store."""
    return run(PYTHON, "-m", "screening", "--json", "--database", database, *words)


def exponent(small: tuple[int, float], large: tuple[int, float]) -> float:
    """How seconds grow with the size: 1 in proportion, 2 with the square."""
    (n, one), (m, other) = small, large
    return math.log(max(other, 1e-9) / max(one, 1e-9)) / math.log(m / n)


def machine() -> dict[str, Any]:
    """What it was measured on."""
    import duckdb
    import pandas

    model = next(
        (line.split(":")[1].strip() for line in Path("/proc/cpuinfo").read_text().splitlines() if line.startswith("model name")),
        "",
    )
    return {
        "processor": model, "cores": os.cpu_count(), "load_before": [round(one, 1) for one in os.getloadavg()],
        "python": platform.python_version(), "duckdb": duckdb.__version__, "pandas": pandas.__version__,
        "measured": time.strftime("%Y-%m-%d %H:%M"),
    }  # fmt: skip


def row(step: str, size: int, taken: Taken, beside: Mapping[str, float] | None = None) -> dict[str, Any]:
    """One line of the report; ``beside`` is how many times as long as another way of doing it."""
    told = {key: round(value, 2) for key, value in asdict(taken).items() if key != "output"}
    return {"step": step, "rows": size, **told, **{key: round(value, 2) for key, value in (beside or {}).items()}}
