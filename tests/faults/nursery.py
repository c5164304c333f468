"""Commands run in forks of a process that has loaded the program, so that a test can stop one at a chosen instant.

Started by `forks.Forks` as a program of its own: forks of a test run would inherit its threads. It reads one JSON document a
line (words of a command, where to run, when to stop it with which signal) and answers each with one (status, seconds, and
the instants at which a commit or the closing of the store began and ended).
"""

from __future__ import annotations

import json
import os
import select
import signal
import sys
import time
import traceback
from importlib import import_module
from typing import Any

LOADED = (
    "screening.cli.main", "screening.store.bring_in", "screening.decision.runs", "screening.decision.doctor", "screening.store.held",
    "screening.decision.rescreen", "screening.outputs.terminal", "screening.outputs.custody_text", "screening.outputs.upkeep_text",
    "screening.outputs.rescreen_text", "screening.outputs.package", "screening.decision.contents", "screening.store.backup",
    "encodings.utf_8_sig", "encodings.utf_16", "encodings.cp1252", "importlib.readers", "ssl", "pyarrow.parquet", "screening.outputs.data", "openpyxl", "rapidfuzz", "pandas", "duckdb", "rich.progress",
)  # fmt: skip
EVENTS = {b"c": "commit begun", b"C": "commit ended", b"x": "close begun", b"X": "close ended"}


class Watched:
    """A connection of the database library that tells when it commits and closes."""

    def __init__(self, connection: Any, pipe: int) -> None:
        self._connection, self._pipe = connection, pipe

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)

    def __enter__(self) -> Watched:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def commit(self) -> None:
        os.write(self._pipe, b"c")
        self._connection.commit()
        os.write(self._pipe, b"C")

    def close(self) -> None:
        os.write(self._pipe, b"x")
        self._connection.close()
        os.write(self._pipe, b"X")


def child(asked: dict[str, Any], pipe: int) -> int:
    """Run the command; the status as its program would end with."""
    import duckdb

    for number, name in ((1, "out"), (2, "err")):
        os.dup2(os.open(asked[name], os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
    os.chdir(asked["folder"])
    connect = duckdb.connect
    duckdb.connect = lambda *given, **named: Watched(connect(*given, **named), pipe)
    for name, value in asked.get("limits", {}).items():
        import resource

        resource.setrlimit(getattr(resource, name), (value, value))
    if asked.get("user"):
        os.setgroups([])
        os.setgid(asked["user"])
        os.setuid(asked["user"])
    try:
        from screening.cli.main import main

        main(asked["words"])
    except SystemExit as end:
        return int(end.code or 0)
    except BaseException:
        traceback.print_exc()
        return 70
    return 0


def run(asked: dict[str, Any]) -> dict[str, Any]:
    """Fork, wait, and stop the fork where that is asked: so long after its start, or after the nth event of a kind."""
    read, write = os.pipe()
    begun = time.monotonic()
    number = os.fork()
    if number == 0:
        os.close(read)
        status = 70
        try:
            status = child(asked, write)
            sys.stdout.flush()
            sys.stderr.flush()
        finally:
            os._exit(status)
    os.close(write)
    events: list[tuple[str, float]] = []
    stop, seen, sent = asked.get("stop"), 0, None
    after = stop["after"] if stop and not stop.get("event") else None
    open_end = True
    while open_end:
        left = None if after is None else max(0.0, after - (time.monotonic() - begun))
        if select.select([read], [], [], left)[0]:
            letters = os.read(read, 1)
            open_end = bool(letters)
            if letters:
                events.append((EVENTS[letters], time.monotonic() - begun))
                if stop and stop.get("event") == EVENTS[letters]:
                    seen += 1
                    if seen == stop["nth"]:
                        until = time.monotonic() + stop["after"]
                        while time.monotonic() < until:
                            pass
                        sent = time.monotonic() - begun
                        os.kill(number, stop["signal"])
        elif after is not None:
            sent = time.monotonic() - begun
            os.kill(number, stop["signal"])
            after = None
    os.close(read)
    _, ended = os.waitpid(number, 0)
    return {"status": os.waitstatus_to_exitcode(ended), "seconds": time.monotonic() - begun, "events": events, "sent": sent}


def begin(asked: dict[str, Any]) -> dict[str, Any]:
    """Begin a command and do not wait for it: a fork of the fork, whose ending is told in a file."""
    if os.fork() == 0:
        said = run({**asked, "apart": False})
        with open(asked["ended"] + ".part", "w") as file:
            json.dump(said, file)
        os.replace(asked["ended"] + ".part", asked["ended"])
        os._exit(0)
    return {}


def main() -> None:
    """Answer one line after the other until the input ends."""
    for name in LOADED:
        import_module(name)
    import_module("screening.cli.main").commands()
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    print("ready", file=answers, flush=True)
    for line in sys.stdin:
        asked = json.loads(line)
        print(json.dumps(begin(asked) if asked.get("apart") else run(asked)), file=answers, flush=True)


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    main()
