"""Files read whole and written whole, or not at all."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import uuid4

from screening.errors import Refused

LARGEST_POWER = 30
"""Powers of ten of the numbers in a file that a person writes."""


def read_whole(path: Path, largest: int) -> bytes:
    """The bytes of a file that nobody wrote to meanwhile.

    Raises `Refused` where it is empty, larger than ``largest`` bytes, may not be read, or changes while it is read.
    """
    try:
        before = path.stat()
        if before.st_size == 0 and path.is_file():
            raise Refused(f"{path}: is empty; ask for the file again")
        if not path.is_file():
            raise Refused(f"{path}: is no file; name a file that holds the data")
        if before.st_size > largest:
            raise Refused(f"{path}: is larger than {_size(largest)}; split it")
        data = path.read_bytes()
        after = path.stat()
    except OSError as error:
        raise Refused(f"{path}: may not be read ({error.strerror}); ask for access to the file") from error
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns) or len(data) != after.st_size:
        raise Refused(f"{path}: is being written by someone else; take it once it is complete")
    return data


def read_text(path: Path, largest: int = 16 * 1024**2) -> str:
    """The UTF-8 text of a file written by a person, read as `read_whole` does. Raises `Refused` where it is no UTF-8."""
    try:
        return read_whole(path, largest).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Refused(f"{path}: is no UTF-8 text; save it as UTF-8") from error


def parse_toml(text: str) -> dict[str, Any]:
    """TOML with exact decimals. Raises `tomllib.TOMLDecodeError` also for what is nested too deeply and numbers too large."""
    try:
        return tomllib.loads(text, parse_float=_decimal)
    except _Unbounded as error:
        found = re.search(rf"(?m)^[^#\n]*(?<![\w.+-]){re.escape(error.args[0])}(?![\w.])", text)
        line = f"line {text.count(chr(10), 0, found.end()) + 1}: " if found else ""
        raise tomllib.TOMLDecodeError(f"{line}{error.args[0][:20]} is no number that a file of this kind may hold") from error
    except RecursionError as error:
        raise tomllib.TOMLDecodeError("tables or lists are nested too deeply") from error
    except tomllib.TOMLDecodeError:
        raise
    except ValueError as error:
        raise tomllib.TOMLDecodeError(str(error)) from error


def _decimal(text: str) -> Decimal:
    number = Decimal(text)
    if not number.is_finite() or abs(number.adjusted()) > LARGEST_POWER:
        raise _Unbounded(text)
    return number


class _Unbounded(ValueError):
    """A number of a TOML file that is none, or too large to be one; its text."""


def _size(bytes_: int) -> str:
    return f"{bytes_ // 1024**3} GiB" if bytes_ >= 1024**3 else f"{bytes_ // 1024**2} MiB"


def write_text(path: Path, text: str) -> Path:
    """Write a text so that a stopped program leaves the old file or the new one. Raises `Refused` where it cannot."""
    beside = path.with_name(f".{path.name}.{uuid4().hex}")
    try:
        with beside.open("wb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except OSError as error:
        raise Refused(f"{path}: cannot be written ({error.strerror}); name a file in a folder that is there") from error
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
    return path


@contextlib.contextmanager
def new_folder(to: Path) -> Iterator[Path]:
    """A folder that takes its name only once it is whole. Raises `Refused` for one that is there or cannot be made."""
    if to.exists():
        raise Refused(f"{to}: is there already; name a new folder, or take that one away first")
    beside = to.with_name(f".{to.name}.{uuid4().hex}")
    try:
        beside.mkdir()
        yield beside
        os.replace(beside, to)
    except OSError as error:
        raise Refused(f"{to}: cannot be written ({error.strerror}); name a folder in one that is there") from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)
