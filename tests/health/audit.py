"""Known advisories against the versions of requirements.lock: `python tests/health/audit.py` (`make audit`).

Asks pip-audit, a general library that is in no list of this project, and its open database of advisories. Status 1 where an
advisory names a version of the list, or a version is not pinned. Where pip-audit is absent or the advisories cannot be
reached, that is said plainly, nothing is claimed, and the status is 0, so that work without a network goes on.
"""

from __future__ import annotations

import importlib.util
import json
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

LOCK = Path(__file__).resolve().parents[2] / "requirements.lock"
PINNED = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*==[A-Za-z0-9][A-Za-z0-9.+!]*")
UNREACHED = "the advisories were not looked at, so nothing is known of them either way"


def unpinned(text: str) -> list[str]:
    """The lines of a lock file that do not name one version."""
    return [
        line for line in text.splitlines() if line.strip() and not line.startswith("#") and not PINNED.fullmatch(line.strip())
    ]


def ask(lock: Path) -> subprocess.CompletedProcess[str]:
    """Run pip-audit; it sends names and versions of the list, and nothing else."""
    words = [
        "-m",
        "pip_audit",
        "-r",
        str(lock),
        "--no-deps",
        "--disable-pip",
        "-s",
        "osv",
        "-f",
        "json",
        "--progress-spinner",
        "off",
    ]
    return subprocess.run([sys.executable, *words], capture_output=True, text=True, timeout=900)


def audit(
    lock: Path, asked: Callable[[Path], subprocess.CompletedProcess[str]] = ask, *, there: bool = True
) -> tuple[int, list[str]]:
    """The status and the lines to print."""
    loose = unpinned(lock.read_text(encoding="utf-8"))
    if loose:
        return 1, [f"{lock.name}: '{line}' names no single version; write NAME==VERSION" for line in loose]
    if not there:
        return 0, [f"pip-audit is not installed; {UNREACHED}. To look: python -m pip install pip-audit, then again"]
    try:
        said = asked(lock)
        found = json.loads(said.stdout)["dependencies"]
    except subprocess.TimeoutExpired:
        return 0, [f"the advisories did not answer in time; {UNREACHED}"]
    except (json.JSONDecodeError, KeyError):
        last = said.stderr.strip().splitlines()[-1:] or ["no word"]
        return 0, [f"the advisories could not be reached ({last[0][:200]}); {UNREACHED}"]
    return _told(found)


def _told(found: Sequence[dict[str, object]]) -> tuple[int, list[str]]:
    lines = []
    for one in found:
        for advisory in one.get("vulns") or ():  # type: ignore[attr-defined]
            mended = ", ".join(advisory.get("fix_versions") or ()) or "no version yet"
            lines.append(f"{one['name']} {one['version']}: {advisory['id']}, mended in {mended}")
    skipped = [str(one["name"]) for one in found if "skip_reason" in one]
    told = f"{len(found) - len(skipped)} versions looked at, {len(lines)} advisories"
    return int(bool(lines)), [*lines, *([f"not looked at: {', '.join(skipped)}"] if skipped else []), told]


def main() -> int:
    """Print and end."""
    status, lines = audit(LOCK, there=importlib.util.find_spec("pip_audit") is not None)
    print("\n".join(lines))
    return status


if __name__ == "__main__":
    raise SystemExit(main())
