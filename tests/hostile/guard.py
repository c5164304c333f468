"""Watches what the program does beside reading: no network, no other program, no file written outside one folder."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FORBIDDEN = (
    "socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.bind", "socket.sendto", "urllib.Request", "http.client.connect",
    "ftplib.connect", "smtplib.connect", "subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.startfile", "ctypes.dlopen", "webbrowser.open",
)  # fmt: skip
CHANGING = (
    "os.remove",
    "os.rename",
    "os.mkdir",
    "os.rmdir",
    "os.link",
    "os.symlink",
    "os.truncate",
    "os.chmod",
    "shutil.rmtree",
    "shutil.copyfile",
)
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


class Trespass(BaseException):
    """The program did what it must never do; no `except Exception` of a reader hides it."""


_watched: list[Path] = []


def _hook(event: str, given: tuple[Any, ...]) -> None:
    if not _watched:
        return
    if event in FORBIDDEN:
        raise Trespass(f"{event} {given[:2]!r}")
    if event == "open" and isinstance(given[0], str | bytes) and isinstance(given[2], int) and given[2] & WRITING:
        _inside(event, given[0])
    elif event in CHANGING:
        for one in given[:2]:
            if isinstance(one, str | bytes):
                _inside(event, one)


def _inside(event: str, name: str | bytes) -> None:
    path = Path(os.path.realpath(os.fsdecode(name)))
    if not any(path.is_relative_to(folder) for folder in (*_watched, Path("/dev"))) and "__pycache__" not in path.parts:
        raise Trespass(f"{event} {path}")


@contextmanager
def watched(folder: Path) -> Iterator[None]:
    """Within, only this folder may be written, and nothing else may be called."""
    if not _installed:
        sys.addaudithook(_hook)
        _installed.append(True)
    _watched.append(folder.resolve())
    try:
        yield
    finally:
        _watched.pop()


_installed: list[bool] = []


SECONDS, BYTES = 10, 1024**3
"""The most that any file may take: processor time, and memory."""


def peak(*, begin: bool = False) -> int:
    """The most memory of this process since the last beginning, in bytes (0 where the machine does not tell)."""
    try:
        if begin:
            Path("/proc/self/clear_refs").write_text("5")
        lines = Path("/proc/self/status").read_text().splitlines()
        return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM"))
    except OSError:
        return 0


@contextmanager
def bounded(folder: Path) -> Iterator[None]:
    """As `watched`; and within it no more time and no more memory than a file may take."""
    before, begun = peak(begin=True), time.process_time()
    try:
        with watched(folder):
            yield
    finally:
        seconds, grown = time.process_time() - begun, peak() - before
    assert seconds <= SECONDS and grown <= BYTES, (seconds, grown)
