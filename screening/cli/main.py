"""The command line put together."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence
from importlib import import_module

import click

from screening.cli.common import REFUSED, STOPPED, tell
from screening.cli.group import MODULES, screening
from screening.store.interrupts import keep_dropped

NEW_OBJECTS = 100_000
"""Objects made before Python looks for circles among them: with its own 700 a short command spends a fifteenth of its time on
that, and finds next to none."""


def commands() -> click.Group:
    """The command line with all its commands loaded."""
    for module in dict.fromkeys(MODULES.values()):
        import_module(f"screening.cli.{module}")
    return screening


def main(words: Sequence[str] | None = None) -> None:
    """Run the command line, or these words of one; the module of the command asked for is loaded then."""
    gc.set_threshold(NEW_OBJECTS)
    sys.unraisablehook = keep_dropped
    try:
        screening(words, prog_name="screening")
    except KeyboardInterrupt:  # behind what a command tells itself
        tell(STOPPED)
        sys.exit(REFUSED)
    finally:
        gc.freeze()  # all goes with the process: looking for circles at its end took a tenth of a short command
