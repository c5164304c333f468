"""What all commands share: the two global options wherever they stand, errors in one line, exit statuses."""

from __future__ import annotations

import contextlib
import datetime as dt
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

import click
import orjson

from screening.store.interrupts import DROPPED, stop_if_dropped

if TYPE_CHECKING:
    from screening.decision.standing import Today
    from screening.levels.versions import Standards

DONE, REFUSED, MISUSED, NEEDS_EYES = 0, 1, 2, 3
F = TypeVar("F", bound=Callable[..., Any])
PATH = click.Path(path_type=Path, readable=False)
"""A file or folder; whether it may be read is told by who reads it, as a refusal and not as wrong usage."""


class Session:
    """The global options of one call, and the ways to answer."""

    def __init__(self) -> None:
        self.database = Path("screening.duckdb")
        self.as_json = False

    def answer(self, document: Mapping[str, Any], show: Callable[[], None]) -> None:
        """Write JSON on standard output and people's text on standard error, or people's text alone."""
        show()
        if self.as_json:
            click.echo(self.written(document))

    def written(self, document: Mapping[str, Any]) -> str:
        """A document as JSON: a line an entry, and of a list a line an item."""
        told = [f"  {_json(name)}: {_lines(value)}" for name, value in document.items()]
        return "\n".join(["{", ",\n".join(told), "}"])

    def standards(self, connection: Any = None) -> Standards:
        """The shipped tables and, with a store at hand, the users' own."""
        from screening.levels.versions import Standards, standards_folder

        texts = None
        if connection is not None:
            from screening.store.level_texts import own_texts

            texts = own_texts(connection)
        return Standards([standards_folder()], texts)

    def today(self, connection: Any) -> Today:
        """The store and the law as they are now, against which runs made before are told to be stale."""
        from screening.decision.standing import Today

        return Today(connection, self.standards(connection), dt.date.today())

    def console(self) -> Any:
        """Where people's text goes: standard output, or standard error where JSON has the former."""
        from screening.outputs.terminal import console

        return console(error=self.as_json)


def _json(value: object) -> str:
    return orjson.dumps(value).decode()


def _lines(value: object) -> str:
    if not isinstance(value, (list, tuple)) or not value:
        return _json(value)
    return "\n".join(["[", ",\n".join(f"    {_json(item)}" for item in value), "  ]"])


def global_options(command: F) -> F:
    """--database and --json, accepted before and after the command's name."""

    def keep_database(context: click.Context, _: click.Parameter, value: Path | None) -> None:
        if value is not None:
            context.ensure_object(Session).database = value

    def keep_json(context: click.Context, _: click.Parameter, value: bool) -> None:
        if value:
            context.ensure_object(Session).as_json = True

    command = click.option(
        "--database", type=PATH, expose_value=False, callback=keep_database,
        envvar="SCREENING_DATABASE", help="The store (default: screening.duckdb in this folder).",
    )(command)  # fmt: skip
    return click.option(
        "--json", "as_json", is_flag=True, expose_value=False, callback=keep_json,
        help="One JSON document on standard output.",
    )(command)  # fmt: skip


def command(group: click.Group, name: str) -> Callable[[Callable[..., Any]], click.Command]:
    """A command of a group, with the global options and errors told in one line."""

    def wrap(function: Callable[..., Any]) -> click.Command:
        def guarded(*args: Any, **kwargs: Any) -> None:
            with told_in_one_line():
                session = click.get_current_context().ensure_object(Session)
                refuse_undecodable([session.database, *kwargs.values()])
                function(session, *args, **kwargs)

        guarded.__doc__, guarded.__module__ = function.__doc__, function.__module__
        guarded.__click_params__ = getattr(function, "__click_params__", [])  # type: ignore[attr-defined]
        return group.command(name)(global_options(guarded))

    return wrap


def refuse_undecodable(words: Sequence[Any]) -> None:
    """Raise `Misuse` for a word or file name whose bytes are no text: it could be neither kept nor shown."""
    from screening.errors import Misuse

    for word in words:
        if isinstance(word, tuple | list):
            refuse_undecodable(word)
        elif isinstance(word, str | Path) and any("\ud800" <= letter <= "\udfff" for letter in str(word)):
            raise Misuse(f"{word}: is no UTF-8 text; rename the file, or write the word anew")


@contextlib.contextmanager
def told_in_one_line() -> Iterator[None]:
    """A refusal ends with its message and status 1 (2 for words that make no sense together).

    So does what the machine refuses: no space, no permission, no memory, a damaged database, or a person's Ctrl-C.
    """
    from screening.errors import Misuse, Refused

    try:
        yield
        stop_if_dropped()
    except Refused as error:
        _end(str(error), MISUSED if isinstance(error, Misuse) else REFUSED)
    except KeyboardInterrupt:
        _end(STOPPED)
    except BrokenPipeError:
        sys.exit(DONE)
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        _end(f"{place}{error.strerror or error}; {UNWRITTEN}")
    except MemoryError:
        _end(f"there is not enough memory; {UNWRITTEN}")
    except Exception as error:
        words = _of_database(error)
        if words is None and not DROPPED.is_set() and not _tells_interrupt(error):
            raise
        _end(words or STOPPED)


STOPPED = "stopped; what was done is kept whole, the rest was not begun; the same command may be given again"
UNWRITTEN = "the step was not written, what was there before stands; put that right and give the command again"


def _end(words: str, status: int = REFUSED) -> NoReturn:
    if DROPPED.is_set():
        words, status = STOPPED, REFUSED
    tell(words)
    sys.exit(status)


def tell(words: str) -> None:
    """Write a refusal on standard error: one line, in which no text of a file can give orders to the terminal."""
    from screening.outputs.texts import readable

    click.echo(f"screening: {readable(' '.join(words.splitlines()))}", err=True)


def _tells_interrupt(error: Exception) -> bool:
    """Whether a library met the interrupt and made an error of its own of it, as pydantic does while it makes its checks."""
    return KeyboardInterrupt.__name__ in str(error)


def _of_database(error: Exception) -> str | None:
    """The words for a failure of the database that is no fault of the tool, else None."""
    duckdb = sys.modules.get("duckdb")
    if duckdb is None:
        return None
    if isinstance(error, duckdb.InterruptException) or (isinstance(error, RuntimeError) and "interrupted" in str(error)):
        return STOPPED
    if isinstance(error, duckdb.FatalException | duckdb.InternalException):
        return f"the database is damaged ({error}); 'screening doctor' says where; restore a backup"
    if isinstance(error, duckdb.OperationalError):
        return f"the database could not be read or written ({error}); {UNWRITTEN}"
    return None


class Day(click.ParamType[dt.date]):
    """A date written as 2025-05-06."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> dt.date:
        """The date, or wrong usage."""
        if isinstance(value, dt.date):
            return value
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no date; write it as 2025-05-06", param, ctx)


class LevelsOn(click.ParamType[dt.date | str]):
    """A date, the word 'sampling', or the name of an event of the site file."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> dt.date | str:
        """The date or the word; a text with a digit in front must be a date."""
        if isinstance(value, str) and not value[:1].isdigit():
            return value
        return Day().convert(value, param, ctx)


def pairs(given: Sequence[str], option: str) -> dict[str, str]:
    """KEY=VALUE words as a mapping. Raises `Misuse` for a word without '='."""
    from screening.errors import Misuse

    found = {}
    for word in given:
        key, mark, value = word.partition("=")
        if not mark or not key.strip():
            raise Misuse(f"{option} {word}: write it as KEY=VALUE")
        found[key.strip()] = value.strip()
    return found
