"""The test's side of `nursery`: commands run, timed and stopped; what they said."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Stop:
    """When to stop a command: so many seconds after its start, or after the nth event of a kind ('commit begun', 'close begun')."""

    after: float
    event: str = ""
    nth: int = 1
    signal: int = signal.SIGKILL


@dataclass(frozen=True)
class Ended:
    """How a command ended: status (negative: by that signal), what it wrote, how long it took, when it was stopped."""

    status: int
    document: Any
    error: str
    seconds: float
    events: list[tuple[str, float]]
    sent: float | None

    def spans(self, what: str) -> list[float]:
        """How long each 'commit' or 'close' took."""
        begun = [at for name, at in self.events if name == f"{what} begun"]
        ended = [at for name, at in self.events if name == f"{what} ended"]
        return [two - one for one, two in zip(begun, ended, strict=False)]


class Forks:
    """A process that has loaded the program and runs commands in forks of itself."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory()
        self._count = 0
        words = [sys.executable, str(Path(__file__).with_name("nursery.py"))]
        self._process = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        assert self._process.stdout is not None and self._process.stdout.readline() == "ready\n"

    def close(self) -> None:
        """End it."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(timeout=60)
        self._process.stdout.close()
        self._folder.cleanup()

    def run(
        self, database: Path, *words: object, stop: Stop | None = None, limits: Mapping[str, int] | None = None, user: int = 0
    ) -> Ended:
        """`screening --json --database … WORDS` in the folder of the store, perhaps stopped, limited, or as another user."""
        asked = self._asked(database, words, stop, limits, user)
        return _ended(asked, self._say(asked))

    def begin(self, database: Path, *words: object) -> Callable[[], Ended]:
        """The same beside others; what it gives waits for the end."""
        asked = self._asked(database, words, None, None, 0)
        self._say({**asked, "apart": True})

        def wait() -> Ended:
            until = time.monotonic() + 120
            while not Path(asked["ended"]).exists():
                assert time.monotonic() < until, "the command does not end"
                time.sleep(0.01)
            return _ended(asked, json.loads(Path(asked["ended"]).read_text()))

        return wait

    def _asked(
        self, database: Path, words: Sequence[object], stop: Stop | None, limits: Mapping[str, int] | None, user: int
    ) -> dict[str, Any]:
        self._count += 1
        out, err, ended = (str(Path(self._folder.name) / f"{self._count}.{name}") for name in ("out", "err", "ended"))
        return {
            "words": ["--json", "--database", str(database), *map(str, words)], "folder": str(database.parent), "out": out,
            "err": err, "ended": ended, "stop": vars(stop) if stop else None, "limits": limits or {}, "user": user,
        }  # fmt: skip

    def _say(self, asked: dict[str, Any]) -> dict[str, Any]:
        assert self._process.stdin is not None and self._process.stdout is not None
        print(json.dumps(asked), file=self._process.stdin, flush=True)
        return dict(json.loads(self._process.stdout.readline()))


def _ended(asked: Mapping[str, Any], said: Mapping[str, Any]) -> Ended:
    text, error = (_text(asked[name]) for name in ("out", "err"))
    try:
        document = json.loads(text) if text.strip() else None
    except json.JSONDecodeError:
        document = None  # stopped while it was written
    return Ended(said["status"], document, error, said["seconds"], said["events"], said["sent"])


def _text(path: str) -> str:
    """What the command wrote; nothing where it was stopped before it had a place to write to."""
    return Path(path).read_text(encoding="utf-8") if Path(path).exists() else ""
