"""The audit of pinned versions: what it says of an advisory, of a list that is not pinned, and without a network."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from audit import LOCK, audit, unpinned


def saying(out: str, err: str = "") -> object:
    return lambda _: subprocess.CompletedProcess([], 1, out, err)


def test_every_version_is_pinned_and_every_dependency_among_them() -> None:
    text = LOCK.read_text(encoding="utf-8")
    assert unpinned(text) == []
    plain = {re.sub(r"[-_.]+", "-", line.partition("==")[0].lower()) for line in text.splitlines()}
    project = tomllib.loads((LOCK.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for wanted in (*project["dependencies"], *project["optional-dependencies"]["dev"]):
        name = re.match(r"[A-Za-z0-9._-]+", wanted)
        assert name and re.sub(r"[-_.]+", "-", name[0].lower()) in plain, wanted


@pytest.mark.parametrize("line", ["pandas", "pandas>=3", "pandas==3.*", "pandas @ https://example.invalid/x", "-e ."])
def test_a_line_that_pins_nothing(tmp_path: Path, line: str) -> None:
    lock = tmp_path / "requirements.lock"
    lock.write_text(f"numpy==2.4.6\n{line}\n")
    status, told = audit(lock, saying(""))  # type: ignore[arg-type]
    assert status == 1 and line in told[0]


def test_an_advisory_is_told() -> None:
    found = {
        "dependencies": [
            {"name": "a", "version": "1", "vulns": [{"id": "X-1", "fix_versions": ["2"]}]},
            {"name": "b", "version": "1", "vulns": []},
        ]
    }
    assert audit(LOCK, saying(json.dumps(found))) == (1, ["a 1: X-1, mended in 2", "2 versions looked at, 1 advisories"])  # type: ignore[arg-type]


def test_without_a_network_nothing_is_claimed() -> None:
    status, (told,) = audit(LOCK, saying("", "Traceback\nConnectionError: no route to host\n"))  # type: ignore[arg-type]
    assert status == 0 and "could not be reached (ConnectionError: no route" in told and "nothing is known" in told
    status, (told,) = audit(LOCK, there=False)
    assert status == 0 and "not installed" in told and "nothing is known" in told
