"""A site whose every name is hostile: the page shows the names as text, does nothing that they say, and stays within its window."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

NAMES = (
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</script><svg onload=alert(1)>", '=cmd|"/c calc"!A1',
    "{{7*7}} {% raw %}", "\u202egnirts\u202c", "\u05e9\u05dc\u05d5\u05dd", "😀 spill", "&lt;b&gt; \u2028 &amp;", "a'b`c${1}\\u003c",
)  # fmt: skip
"""Names of samples and of their locations, taken over as they are."""
TOO_LONG = "N" * 10_000
"""A name that is held back."""
SITE = "</title><script>alert(2)</script> \u202e 😀 bell\x07 \x1b[31m"
FILE = "<b onclick=alert(3)>\"&'.csv"


def _text(name: str) -> str:
    return json.dumps(name, ensure_ascii=False)


@pytest.fixture(scope="module")
def hostile(desk: Any, look: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The page of the hostile site, opened in the browser; data came after its run, so that it is stale."""
    places = "".join(f"[[location]]\nid = {_text(name)}\nx = {at}\ny = {at % 3}\n" for at, name in enumerate(NAMES[:6]))
    site = f'[site]\nid = "h"\nname = {_text(SITE)}\nplace = "us-oh"\naddress = {_text(NAMES[1])}\n[screening]\nlevels = ["us-oh/closure"]\n'
    assert desk.site(site + places).status == 0
    common = {"medium": "soil", "depth_top": "5", "depth_unit": "ft", "sampled_at": "2025-05-06", "unit": "mg/kg", "basis": "dry"}
    rows = [
        {
            "sample_id": name,
            "location": name,
            "analyte": analyte,
            "result": result,
            "comment": name,
            "method": name[:200],
            **common,
        }
        for name in (*NAMES, TOO_LONG)
        for analyte, result in (("Benzene", "3.1"), ("Toluene", "<0.01"))
    ]
    assert desk.run("import", desk.deliverable(FILE, rows), "--site", "h").status in (0, 3)
    run = desk.run("screen", "--site", "h").document["run"]
    later = desk.deliverable("later.csv", [{**rows[0], "sample_id": "LATER", "location": "LATER"}])
    assert desk.run("import", later, "--site", "h").status == 0
    folder = tmp_path_factory.mktemp("hostile")
    assert desk.run("report", "--run", run, "--to", folder / "to", "--only", "page").status == 0
    return look(folder / "to" / "page.html", width=1000)


def visible(name: str) -> str:
    """A name with what cannot be seen written out."""
    return (
        name.replace("\u202e", "[U+202E]").replace("\u202c", "[U+202C]").replace("\x07", "[U+0007]").replace("\x1b", "[U+001B]")
    )


def test_names_are_shown_as_text(hostile: Any) -> None:
    listed = {row["location"] for row in hostile.rows("exceeds")}
    assert listed == {visible(name) for name in NAMES}
    assert hostile.page.text_content("h1") == visible(SITE)
    assert hostile.page.title().startswith("</title><script>alert(2)</script> [U+202E]")
    held = hostile.page.locator(".held td").all_text_contents()
    assert any(text.startswith("NNN") and text.endswith("(10000 characters)") and len(text) < 230 for text in held)


def test_every_way_of_showing_a_name_is_harmless(hostile: Any) -> None:
    page = hostile.page
    for number, name in enumerate(NAMES):
        page.select_option("#place", label=visible(name))
        assert page.text_content(".chosen h3") == visible(name)
        page.locator("[data-rows=exceeds] tbody button.origin").nth(number).click()
        steps = page.locator(".steps li span").all_text_contents()
        assert FILE in steps[0]
        page.keyboard.press("Escape")
        page.fill("#words", visible(name))
        page.press("#words", "Enter")
        assert visible(name) in {row["location"] for row in hostile.rows("all")}
    assert page.evaluate("document.querySelectorAll('img, iframe, object, embed, [onerror], [onload], [onclick]').length") == 0
    assert page.evaluate("document.scripts.length") == page.evaluate("document.querySelectorAll('body > script').length")
    assert hostile.complaints == [] and len(hostile.requests) == 1


def test_nothing_stands_outside_the_window(hostile: Any) -> None:
    assert hostile.page.evaluate("document.documentElement.scrollWidth") <= 1000
    hostile.page.set_viewport_size({"width": 360, "height": 800})
    assert hostile.page.evaluate("document.documentElement.scrollWidth") <= 360
    hostile.page.set_viewport_size({"width": 1000, "height": 900})


def test_a_name_that_turns_the_text_turns_only_itself(hostile: Any) -> None:
    """Each cell is isolated: what stands before a right-to-left name on the left stays on its left."""
    assert hostile.page.evaluate("getComputedStyle(document.querySelector('[data-rows=all] tbody td')).unicodeBidi") == "isolate"
    assert hostile.page.evaluate("/[\\u202a-\\u202e\\u2066-\\u2069]/.test(document.body.innerText)") is False


def test_a_run_whose_data_changed_says_so_at_the_top(hostile: Any) -> None:
    first = hostile.page.locator("main > *").first
    assert first.get_attribute("role") == "alert" and "the data have changed since this run was made" in first.inner_text()


def test_the_file_is_text_without_controls(hostile: Any) -> None:
    text = Path(hostile.page.url.removeprefix("file://")).read_text(encoding="utf-8")
    assert not {letter for letter in text if ord(letter) < 32} - {"\n", "\t"}
