"""An installed wheel holds all that the tool reads: standards, demo, lists, schema, layouts."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """The files of a wheel built from this checkout."""
    for builder in ("build", "hatchling"):
        if importlib.util.find_spec(builder) is None:
            pytest.skip(f"{builder} is not installed, so no wheel can be built")
    folder = tmp_path_factory.mktemp("wheel")
    words = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(ROOT)]
    done = subprocess.run(words, text=True, capture_output=True, timeout=300)
    assert done.returncode == 0, done.stderr
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


@pytest.mark.parametrize(("source", "inside"), [("standards", "screening/_standards"), ("demo", "screening/_demo")])
def test_data_beside_the_package_are_inside(names: set[str], source: str, inside: str) -> None:
    files = [path for path in (ROOT / source).rglob("*") if path.is_file() and "__pycache__" not in path.parts]
    assert files
    wanted = {f"{inside}/{path.relative_to(ROOT / source).as_posix()}" for path in files}
    assert wanted <= names, sorted(wanted - names)[:5]


def test_code_and_package_data_are_inside(names: set[str]) -> None:
    wanted = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "screening").rglob("*")
        if path.suffix in (".py", ".csv", ".sql", ".toml", ".html", ".css") and path.is_file()
    }
    assert {Path(name).suffix for name in wanted} >= {".py", ".csv", ".sql", ".toml"}
    assert wanted <= names, sorted(wanted - names)[:5]


def test_nothing_else_is_inside(names: set[str]) -> None:
    tops = {name.split("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"screening"}
    assert not [name for name in names if name.endswith((".duckdb", ".pyc"))]
    assert any(name.endswith("dist-info/entry_points.txt") for name in names)
    assert any("/licenses/LICENSE" in name for name in names)
