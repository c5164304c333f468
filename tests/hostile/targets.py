"""Everything of the program that reads a file, each as a function of a path: it ends, or it refuses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import seeds

from screening.deliverable.cells import read_book
from screening.deliverable.detect import place
from screening.deliverable.extract import extract
from screening.deliverable.layout import Layout, find_layout, parse_layout, write_layout
from screening.levels.check import check
from screening.levels.table import parse_facts
from screening.levels.versions import standards_folder
from screening.site.site_file import read_site
from screening.store.custody import read_custody
from screening.store.intake import Order, read_deliverable
from screening.store.own_levels import read_levels
from screening.store.taught import Taught

TAUGHT = Taught({}, {})


def cells_of(path: Path) -> None:
    """The container alone."""
    read_book(path)


def rows_of(path: Path) -> None:
    """The container and what its sheets are."""
    book = read_book(path)
    placed, _ = place(book, None, {"medium": "soil"})
    for one in placed:
        extract(book.file, one)


def deliverable(path: Path) -> None:
    """All that happens to a deliverable before it is stored; the rows add up."""
    reading = read_deliverable(path, Order("one", settings={"medium": "soil", "basis": "dry"}), TAUGHT)
    account = reading.account
    assert account["read"] == sum(account[key] for key in ("results", "quality_control", "held_back", "ignored"))


def custody(path: Path) -> None:
    """A custody record."""
    read_custody(path)


def levels(path: Path) -> None:
    """A user's own level table."""
    read_levels(path, "own/levels", "2025-01-01", "A", "invented")


def site(path: Path) -> None:
    """A site file."""
    read_site(path)


def layout(path: Path) -> None:
    """A layout, written and read again, and used on a deliverable."""
    found = find_layout(str(path), [])
    parse_layout(write_layout(found), found.name, "again")
    read_deliverable(GOOD, Order("one", layout=found), TAUGHT)


def facts(path: Path) -> None:
    """The facts of a level table."""
    parse_facts("own/levels", path.read_bytes().decode("utf-8", "replace"), path.name)


def version(path: Path) -> None:
    """The rows of a level table that stands in a folder, as `levels check` reads them."""
    beside = path.parent / "standards" / "us-xx" / "own"
    beside.mkdir(parents=True, exist_ok=True)
    (beside / "table.toml").write_text(FACTS, encoding="utf-8")
    (beside / "2025-01-01.csv").write_bytes(path.read_bytes())
    check(beside.parents[1])


FACTS = """title = "Invented"
issuing_body = "Invented"
citation = "Invented"
media = ["soil", "groundwater"]
stage = "closure"
comparison = "above"
comparison_status = "memory"
[words]
NL = "no_level"
[versions."2025-01-01"]
effective = "2025-01-01"
[conditions.soil_class]
from = "site"
values = ["1", "2"]
title = "soil class"
"""
GOOD = Path("good.csv")
"""A good deliverable in the current folder, for layouts to be used on."""
Target = Callable[[Path], object]


def targets() -> Mapping[str, tuple[int, dict[str, list[bytes]], Target]]:
    """Name -> (share of all inputs, seeds by ending, function)."""
    held = seeds.books()
    forms = {
        ".csv": [seeds.text(seeds.CUSTODY), seeds.text(seeds.FORM)],
        ".xlsx": [seeds.xlsx_by_another(seeds.CUSTODY), seeds.xlsx_by_another(seeds.FORM)],
    }
    tables = {".csv": [seeds.text(seeds.LEVELS)], ".xlsx": [seeds.xlsx_by_another(seeds.LEVELS)]}
    return {
        "cells": (52, held, cells_of), "rows": (12, held, rows_of), "deliverable": (2, held, deliverable), "custody": (6, forms, custody),
        "levels": (4, tables, levels), "site": (12, {".toml": seeds.sites()}, site), "layout": (2, {".toml": seeds.layouts()}, layout),
        "facts": (8, {".toml": seeds.tables()}, facts), "version": (2, {".csv": [seeds.text(seeds.VERSION)]}, version),
    }  # fmt: skip


__all__ = ["GOOD", "Layout", "standards_folder", "targets"]
