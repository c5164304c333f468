"""A seeded sample of the mutants is tried in every run of the tests: none survives; `make mutation` tries them all."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

SIZE = "6"


def test_no_mutant_of_the_sample_survives() -> None:
    """In a process of its own, which forks: each mutant is put in and the test that killed it last time is run."""
    script = Path(__file__).resolve().parent / "mutation_score.py"
    said = subprocess.run([sys.executable, str(script), "--sample", SIZE], capture_output=True, text=True, timeout=600)
    assert said.returncode == 0, said.stdout + said.stderr
    assert "score 100.0 %" in said.stdout
