"""Files written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path
from uuid import uuid4

from screening.errors import Refused


def write_text(path: Path, text: str) -> Path:
    """Write a text so that a stopped program leaves the old file or the new one. Raises `Refused` where it cannot."""
    beside = path.with_name(f".{path.name}.{uuid4().hex}")
    try:
        beside.write_bytes(text.encode())
        os.replace(beside, path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise Refused(f"{path}: cannot be written ({error.strerror}); name a file in a folder that is there") from error
    return path
