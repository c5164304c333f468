"""Ctrl-C while a library is at work: one may not look for signals until its query ends, one may drop what they raise."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

DROPPED = threading.Event()
"""Whether an interrupt came at an instant at which a library had to drop it; what the library made then may be unsound."""


def stop_if_dropped() -> None:
    """Raise the interrupt that was dropped."""
    if DROPPED.is_set():
        raise KeyboardInterrupt


@contextmanager
def interruptible(connection: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Within, an interrupt from the keyboard stops the query that runs; a thread waits for it, as the main one is busy."""
    if threading.current_thread() is not threading.main_thread() or os.name == "nt":
        yield
        return
    read, write = os.pipe()
    os.set_blocking(write, False)

    def wait() -> None:
        while came := os.read(read, 1):
            if came[0] == signal.SIGINT:
                connection.interrupt()

    before = signal.set_wakeup_fd(write, warn_on_full_buffer=False)
    waiting = threading.Thread(target=wait, daemon=True)
    try:
        waiting.start()
    except RuntimeError as error:  # the machine has no room for a thread
        signal.set_wakeup_fd(before)
        os.close(write)
        os.close(read)
        raise MemoryError from error
    try:
        yield
    finally:
        signal.set_wakeup_fd(before)
        os.close(write)
        waiting.join()
        os.close(read)


def keep_dropped(told: sys.UnraisableHookArgs) -> None:
    """For `sys.unraisablehook`: an interrupt that a library could not pass on is kept in mind, anything else is told as ever."""
    if issubclass(told.exc_type, KeyboardInterrupt):
        DROPPED.set()
    else:
        sys.__unraisablehook__(told)
