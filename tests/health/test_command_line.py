"""The command line answers at once and explains every command."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator

import click
import pytest

from screening.cli import group
from screening.cli.group import MODULES
from screening.cli.main import commands

HEAVY = {
    "pandas",
    "numpy",
    "pyarrow",
    "duckdb",
    "pint",
    "pandera",
    "openpyxl",
    "rich",
    "pydantic",
    "rapidfuzz",
    "python_calamine",
    "scipy",
}
LOADED = """
import sys
from screening.cli.main import main
sys.argv = ["screening", *sys.argv[1:]]
try:
    main()
except SystemExit as end:
    print("\\nstatus", end.code or 0)
print(*(name for name in sys.modules if name.startswith("screening.cli.")))
print("loaded", *sorted({name.split(".")[0] for name in sys.modules}))
"""


@pytest.mark.parametrize(
    "words",
    [
        ["--help"],
        ["--version"],
        ["import", "--help"],
        ["held", "--help"],
        ["screen", "--help"],
        ["statistics", "--help"],
        ["screen"],
    ],
)
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    done = subprocess.run([sys.executable, "-c", LOADED, *words], text=True, capture_output=True, timeout=60)
    loaded = done.stdout.splitlines()[-1].split()
    assert loaded[0] == "loaded", done.stderr
    assert set(loaded) & HEAVY == set()
    assert f"status {2 if words == ['screen'] else 0}" in done.stdout


def _walk(command: click.Command, name: str) -> Iterator[tuple[str, click.Command]]:
    yield name, command
    if isinstance(command, click.Group):
        for part, below in command.commands.items():
            yield from _walk(below, f"{name} {part}")


COMMANDS = dict(_walk(commands(), "screening"))


def test_every_command_is_found_in_the_module_that_adds_it() -> None:
    found = {name: getattr(command.callback, "__module__", "") for name, command in commands().commands.items()}
    assert found == {name: f"screening.cli.{module}" for name, module in MODULES.items()}


def test_a_command_loads_no_module_of_another() -> None:
    done = subprocess.run([sys.executable, "-c", LOADED, "site", "--help"], text=True, capture_output=True, timeout=60)
    assert "screening.cli.sites" in done.stdout and "screening.cli.runs" not in done.stdout


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_does(name: str) -> None:
    text = (COMMANDS[name].help or "").strip()
    assert len(text) > 10 and text.split("\n\n")[0].endswith("."), name


@pytest.mark.parametrize("name", COMMANDS)
def test_global_options_stand_before_and_after_every_command(name: str) -> None:
    options = {option for parameter in COMMANDS[name].params for option in parameter.opts}
    assert {"--database", "--json"} <= options


PROMISED = {
    "init", "site add", "site show", "site list", "import", "held list", "held accept", "held reject", "results", "screen",
    "explain", "runs list", "runs show", "runs reproduce", "compare", "levels list", "levels show", "levels check", "levels add",
    "demo", "coverage", "deadlines", "papers", "review", "statistics", "rescreen", "sign-off", "signed-off list", "signed-off withdraw",
    "decisions list", "decisions verify",
    "backup", "restore", "doctor", "portfolio write", "portfolio screen",
}  # fmt: skip


def test_the_commands_of_the_contract_are_there() -> None:
    assert {f"screening {name}" for name in PROMISED} <= set(COMMANDS)


def test_options_of_the_contract_are_there() -> None:
    def options(name: str) -> set[str]:
        return {option for parameter in COMMANDS[f"screening {name}"].params for option in parameter.opts}

    assert {"--site", "--layout", "--set", "--replaces", "--replaces-only-contents", "--received", "--preview"} <= options(
        "import"
    )
    assert {"--site", "--levels", "--levels-on", "--data-on", "--condition", "--setting"} <= options("screen")
    assert {"--by", "--why", "--as"} <= options("held accept")


@pytest.mark.parametrize("name", COMMANDS)
def test_a_file_that_may_not_be_read_is_no_wrong_usage(name: str) -> None:
    kinds = [parameter.type for parameter in COMMANDS[name].params if isinstance(parameter.type, click.Path)]
    assert not [kind for kind in kinds if kind.readable or kind.writable or kind.exists]


def test_stopped_while_its_module_loads_it_says_so(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def stopped(name: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(group, "import_module", stopped)
    with pytest.raises(SystemExit) as ended:
        group.screening(["site"])
    assert ended.value.code == 1 and "stopped; what was done is kept whole" in capsys.readouterr().err
