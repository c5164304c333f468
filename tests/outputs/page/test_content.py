"""What the page holds, read from its bytes: the run's numbers, its derivations, a policy that lets nothing in."""

from __future__ import annotations

import base64
import hashlib
import html
import json
import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from screening.decision.demo import DAY
from screening.decision.explain import explain_outcome
from screening.outputs.page import NAME, files
from screening.outputs.page.columns import column
from screening.outputs.page.policy import block, style
from screening.store.database import opened

Page = Any


def data(page: str, name: str) -> Any:
    """A data block of the page."""
    found = re.search(rf'<script type="application/json" id="data-{name}">(.*?)</script>', page, re.S)
    assert found
    return json.loads(found.group(1))


def texts(page: str, name: str) -> list[str]:
    """A column of the result table."""
    held = data(page, "rows")["columns"][name]
    return [held["texts"][code] for code in held["codes"]]


def test_the_command_gives_the_same_bytes_in_another_process(demo_page: Page, tmp_path: Path) -> None:
    words = [
        "report",
        "--run",
        demo_page.contents.answer["run"],
        "--today",
        DAY.isoformat(),
        "--only",
        "page",
        "--to",
        tmp_path / "to",
    ]
    command = [sys.executable, "-m", "screening", "--database", demo_page.database, *words]
    subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": "1"}, check=True, capture_output=True)
    assert (tmp_path / "to" / NAME).read_bytes() == demo_page.path.read_bytes()


def test_rows_are_the_comparisons_of_the_run(demo_page: Page) -> None:
    """Also the counting rule: the marks are the comparisons that count, each once."""
    answer = demo_page.contents.answer
    counts = Counter(texts(demo_page.html, "outcome"))
    assert {name: counts[name] for name in answer["counts"]} == answer["counts"]
    assert counts["outweighed"] == len(answer["outweighed"])
    held = {(row["sample_id"], row["analyte"]) for row in demo_page.contents.results if row["chosen"]}
    compared = {(item["sample_id"], item["analyte"]) for item in (*answer["outcomes"], *answer["outweighed"])}
    assert counts["not_compared"] == len(held - compared) > 0
    letters = Counter(mark for mark in texts(demo_page.html, "mark") if mark in ("E", "?", "n"))
    assert letters == {"E": answer["counts"]["exceeds"], "?": answer["counts"]["open"], "n": answer["counts"]["no_level"]}


@pytest.mark.parametrize("outcome", ["exceeds", "open", "no_level", "does_not_exceed", "outweighed"])
def test_a_derivation_is_what_explain_says(demo_page: Page, outcome: str) -> None:
    """The first rows of each outcome."""
    said = data(demo_page.html, "derivations")
    samples, analytes = texts(demo_page.html, "sample"), texts(demo_page.html, "analyte")
    kinds = texts(demo_page.html, "outcome")
    checked = 0
    with opened(demo_page.database) as connection:
        for row in [at for at, kind in enumerate(kinds) if kind == outcome][:4]:
            sample = samples[row].removesuffix(" (field duplicate)")
            steps = explain_outcome(connection, demo_page.contents.answer["run"], sample, analytes[row])
            numbers = said["rows"][row]
            shown = [
                {"step": said["names"][name], "text": said["texts"][text]}
                for name, text in zip(numbers[::2], numbers[1::2], strict=True)
            ]
            # a sample and a location of one name may have several derivations, one after another
            assert any(steps[at : at + len(shown)] == shown for at in range(len(steps)))
            checked += 1
    assert checked


def test_numbers_are_sorted_as_decimals_and_non_detects_below_detections() -> None:
    """Invented amounts; binary floats would put the first two on one rank."""
    from screening.outputs.page.rows import _result_key

    amounts = [
        ("0.1000000000000000000001", "mg/kg", True, "0.1000000000000000000001"), ("0.1", "mg/kg", True, "0.1"),
        ("<5", "mg/kg", False, "5"), ("<0.5", "mg/kg", False, "0.5"), ("10", "mg/kg", True, "10"), ("9", "mg/kg", True, "9"),
        ("not detected, no limit", "mg/kg", False, ""), (">2000", "mg/kg", True, ">2000"),
    ]  # fmt: skip
    made = column(amounts, _result_key, lambda value: value[0])
    expected = ["not detected, no limit", "<0.5", "<5", "0.1", "0.1000000000000000000001", "9", "10", ">2000"]
    assert made["texts"] == expected
    assert [made["texts"][code] for code in made["codes"]] == [text for text, *_ in amounts]


def test_codes_follow_the_decimals_of_the_demo(demo_page: Page) -> None:
    held = data(demo_page.html, "rows")["columns"]["ratio"]
    numbers = [Decimal(text) for text in held["texts"] if text]
    assert numbers == sorted(numbers) and len(numbers) > 100


def test_nothing_but_the_own_style_and_script_may_run(demo_page: Page) -> None:
    page = demo_page.html
    found = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    assert found and page.index(found.group(0)) < page.index("<style>")
    rules = dict(rule.strip().split(" ", 1) for rule in html.unescape(found.group(1)).split(";"))
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    for name, pattern in (("style-src", r"<style>(.*?)</style>"), ("script-src", r"<script>(.*?)</script>")):
        own = re.findall(pattern, page, re.S)
        assert [f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in own] == rules[
            name
        ].split()
    outside = re.sub(r"<script.*?</script>|<style.*?</style>", "", page, flags=re.S)
    assert not re.findall(r'\s(?:style|on\w+|src)="', outside)
    assert set(re.findall(r'\b(?:href|action)="([^#"][^"]*)"', outside)) == {"data:,"}


def test_no_text_ends_its_block() -> None:
    hostile = "</script><!--<script>]]>\u2028\u2029&amp;"
    made = str(block({"a": hostile}))
    assert not set("<>&\u2028\u2029") & set(made)
    assert json.loads(made) == {"a": hostile}


def test_the_foot_of_a_sheet_takes_no_style() -> None:
    with pytest.raises(ValueError, match="cannot stand in a style sheet"):
        style('"; } body { display: none; } @page { content: "')


def test_stale_runs_say_so_first(demo_page: Page) -> None:
    page = files(replace(demo_page.contents, stale=True))[NAME].decode()
    assert 'class="stale" role="alert"' in page
    assert page.index('class="stale"') < page.index('id="recommendation"')
    assert 'class="stale"' not in demo_page.html
