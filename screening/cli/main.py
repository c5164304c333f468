"""The command line put together."""

from __future__ import annotations

import click

from screening.cli import (  # noqa: F401 - each adds its commands
    closure,
    custody,
    data,
    decisions,
    laboratory,
    levels,
    portfolio,
    report,
    rescreen,
    review,
    runs,
    sites,
    statistics,
    upkeep,
)
from screening.cli.group import screening


def commands() -> click.Group:
    """The command line with all its commands."""
    return screening


def main() -> None:
    """Run the command line."""
    commands()()
