"""The command line put together."""

from __future__ import annotations

from importlib import import_module

import click

from screening.cli.group import MODULES, screening


def commands() -> click.Group:
    """The command line with all its commands loaded."""
    for module in dict.fromkeys(MODULES.values()):
        import_module(f"screening.cli.{module}")
    return screening


def main() -> None:
    """Run the command line; the module of the command asked for is loaded then."""
    screening()
