"""The command line put together."""

from __future__ import annotations

import gc
from importlib import import_module

import click

from screening.cli.group import MODULES, screening

NEW_OBJECTS = 100_000
"""Objects made before Python looks for circles among them: with its own 700 a short command spends a fifteenth of its time on
that, and finds next to none."""


def commands() -> click.Group:
    """The command line with all its commands loaded."""
    for module in dict.fromkeys(MODULES.values()):
        import_module(f"screening.cli.{module}")
    return screening


def main() -> None:
    """Run the command line; the module of the command asked for is loaded then."""
    gc.set_threshold(NEW_OBJECTS)
    screening()
