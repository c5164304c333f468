"""A package is written whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from screening.errors import Refused
from screening.outputs.package import put


def test_files_land_with_their_folders(tmp_path: Path) -> None:
    assert put(tmp_path / "to", {"b.txt": b"b", "a/c.txt": b"c"}, force=False) == [tmp_path / "to/a/c.txt", tmp_path / "to/b.txt"]
    assert (tmp_path / "to/a/c.txt").read_bytes() == b"c"
    assert [path.name for path in tmp_path.iterdir()] == ["to"]


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    (tmp_path / "b.txt").write_text("mine")
    with pytest.raises(Refused, match=r"b\.txt: is there already; name another folder with --to, or say --force"):
        put(tmp_path, {"a.txt": b"", "b.txt": b""}, force=False)
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("b.txt", "mine")]
    put(tmp_path, {"a.txt": b"", "b.txt": b"new"}, force=True)
    assert (tmp_path / "b.txt").read_text() == "new"


def test_a_package_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, content: bytes) -> int:
        if path.name == "b.txt":
            raise OSError(28, "No space left on device")
        return 0

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(Refused, match="No space left on device"):
        put(tmp_path / "to", {"a.txt": b"", "b.txt": b""}, force=False)
    assert list(tmp_path.iterdir()) == []
