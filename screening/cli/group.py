"""The command `screening` itself, to which the modules of this room add their commands."""

from __future__ import annotations

import click

from screening import __version__
from screening.cli.common import Session, global_options


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, prog_name="screening")
@global_options
@click.pass_context
def screening(context: click.Context) -> None:
    """Screen laboratory results at the closure of underground storage tanks against dated action levels.

    A screening aid: the current rule and a licensed professional decide.
    """
    context.ensure_object(Session)
