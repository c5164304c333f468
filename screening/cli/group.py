"""The command `screening` itself, to which the modules of this room add their commands."""

from __future__ import annotations

from importlib import import_module

import click

from screening import __version__
from screening.cli.common import Session, global_options, told_in_one_line

MODULES = {
    "backup": "upkeep", "compare": "runs", "coverage": "closure", "custody": "custody", "deadlines": "closure", "decisions": "decisions",
    "demo": "runs", "doctor": "upkeep", "explain": "runs", "held": "data", "import": "data", "init": "sites",
    "laboratory": "laboratory", "levels": "levels", "papers": "closure", "portfolio": "portfolio", "report": "report",
    "rescreen": "rescreen", "restore": "upkeep", "results": "data", "review": "review", "runs": "runs", "screen": "runs",
    "sign-off": "decisions", "signed-off": "decisions", "site": "sites", "statistics": "statistics",
}  # fmt: skip
"""Each command and the module of this room that adds it."""


class _OnDemand(click.Group):
    """Commands whose module is imported when somebody asks for them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of all commands."""
        return sorted({*MODULES, *self.commands})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, None where there is none."""
        if cmd_name in MODULES:
            with told_in_one_line():
                import_module(f"screening.cli.{MODULES[cmd_name]}")
        return super().get_command(ctx, cmd_name)


@click.group(cls=_OnDemand, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, prog_name="screening")
@global_options
@click.pass_context
def screening(context: click.Context) -> None:
    """Screen laboratory results at the closure of underground storage tanks against dated action levels.

    A screening aid: the current rule and a licensed professional decide.
    """
    context.ensure_object(Session)
