"""Ctrl-C during a long query: the database library may not look for signals until its query ends, so it is told."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb


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
