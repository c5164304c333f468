"""README.md agrees with what it describes."""

from __future__ import annotations

import importlib.util
from pathlib import Path


def test_the_catalogue_of_level_tables_is_current() -> None:
    spec = importlib.util.spec_from_file_location("readme_tables", Path(__file__).with_name("readme_tables.py"))
    assert spec is not None and spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    assert made.README.read_text(encoding="utf-8") == made.current(), "run: make readme"
