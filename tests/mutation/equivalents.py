"""Mutants that can change no verdict, each with the reason; written by hand."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from mutants import Mutant

LIST = Path(__file__).parent / "equivalent.toml"


@dataclass(frozen=True)
class Equivalent:
    """Mutants of a file whose line and words are these, and why none can change a verdict."""

    file: str
    text: str
    told: tuple[str, ...]
    reason: str

    def holds(self, mutant: Mutant) -> bool:
        """Whether the mutant is one of these."""
        return mutant.file.endswith(self.file) and mutant.text == self.text and mutant.told in self.told


def listed() -> list[Equivalent]:
    """The whole list."""
    with LIST.open("rb") as file:
        return [
            Equivalent(one["file"], one["line"], tuple(one["changes"]), one["reason"]) for one in tomllib.load(file)["equivalent"]
        ]
