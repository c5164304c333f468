"""The demo's page in a real browser: read again from what it shows, driven by pointer and keyboard, looked at for accessibility."""

from __future__ import annotations

import shutil
import subprocess
from collections import Counter
from collections.abc import Callable
from importlib.resources import files as resources
from pathlib import Path
from typing import Any

import pytest

from screening.decision.explain import explain_outcome
from screening.store.database import opened

Page = Any
MARKS = {"exceeds": "E", "open": "?", "no_level": "n", "does_not_exceed": ""}


@pytest.fixture(scope="module")
def shown(demo_page: Page, look: Callable[..., Any]) -> Any:
    """The page that the tests of this module share; each leaves it without filters and with its dialog closed."""
    return look(demo_page.path)


@pytest.fixture(scope="module")
def narrow(demo_page: Page, look: Callable[..., Any]) -> Any:
    """The same in a narrow window and in the dark."""
    return look(demo_page.path, width=320, height=640, dark=True)


def clear(shown: Any) -> None:
    shown.page.evaluate("() => { document.getElementById('filters').reset(); return new Promise((done) => setTimeout(done)); }")
    assert "filtered" not in shown.told("all")


def result_text(item: dict[str, Any]) -> str:
    """A result as its document says it."""
    if item["parts"] and item["outcome"] == "open":
        return f"{item['lower']} to {item['upper']}"
    return str(item["value"]) if item["detected"] else f"<{item['limit']}"


def same_number(one: str, other: str) -> bool:
    """The text of a result without the laboratory's letters behind it."""
    return one == other or one.startswith(f"{other} ")


def test_every_comparison_is_shown_as_the_run_has_it(demo_page: Page, shown: Any) -> None:
    answer = demo_page.contents.answer
    rows = shown.rows("all")
    expected = {
        (item["location"], item["sample_id"], item["analyte"], item["fraction"], item["medium"]): item
        for item in answer["outcomes"]
    }
    assert len(expected) == len(answer["outcomes"])
    counted = [row for row in rows if row["outcome"] in MARKS.values()]
    matched = 0
    for row in counted:
        sample = row["sample"].removesuffix(" (field duplicate)")
        item = expected.get((row["location"], sample, row["analyte"], "", row["medium"].replace(" ", "_")))
        if item is None or MARKS[item["outcome"]] != row["outcome"]:
            continue  # an outweighed side or a part of a sum bears no letter either
        if not same_number(row["result"], result_text(item)):
            continue
        assert row["unit"] == item["unit"] and row["ratio"] == (item["ratio"] or "")
        matched += 1
    assert matched == len(answer["outcomes"])
    assert Counter(row["outcome"] for row in rows)["E"] == answer["counts"]["exceeds"]


def test_marks_rows_and_places_agree(demo_page: Page, shown: Any) -> None:
    """As many marks in the table as rows in the list, and as many places in the list as triangles on the plan."""
    answer = demo_page.contents.answer
    exceeding = [item for item in answer["outcomes"] if item["outcome"] == "exceeds"]
    listed, marked = shown.rows("exceeds"), [row for row in shown.rows("all") if row["outcome"] == "E"]
    assert len(listed) == len(marked) == len(exceeding) == answer["counts"]["exceeds"]
    told = {(row["location"], row["analyte"], row["ratio"]) for row in listed}
    assert told == {(item["location"], item["analyte"], item["ratio"]) for item in exceeding}
    triangles = shown.page.evaluate(
        "[...document.querySelectorAll('#plan [data-layer=marks] > [data-place][data-sign=exceeds]')].map((one) => one.dataset.place)"
    )
    assert sorted(triangles) == sorted({item["location"] for item in exceeding})
    assert shown.told("exceeds") == f"{len(exceeding)} exceed"
    assert len(shown.rows("open")) == answer["counts"]["open"]
    for name, count in answer["counts"].items():
        assert shown.page.text_content(f"[data-outcome={name}] .number") == str(count)


def test_filters_search_and_sorting(demo_page: Page, shown: Any) -> None:
    page, outcomes = shown.page, demo_page.contents.answer["outcomes"]
    page.select_option("#by-outcome", label=f"exceeds ({demo_page.contents.answer['counts']['exceeds']})")
    page.select_option(
        "#by-medium", label=next(one for one in page.locator("#by-medium option").all_text_contents() if "groundwater" in one)
    )
    found = shown.rows("all")
    wanted = {item["analyte"] for item in outcomes if item["outcome"] == "exceeds" and item["medium"] == "groundwater"}
    assert {row["analyte"] for row in found} == wanted and {row["outcome"] for row in found} == {"E"}
    assert f"{len(found)} rows of" in shown.told("all") and "filtered" in shown.told("all")
    clear(shown)
    page.fill("#words", "tv-t1-w NAPHTHALENE")
    page.press("#words", "Enter")
    assert {(row["location"], row["analyte"]) for row in shown.rows("all")} == {("TV-T1-W", "Naphthalene")}
    clear(shown)
    page.click("[data-rows=all] th[data-column=ratio] button")
    up = [float(row["ratio"]) for row in shown.rows("all") if row["ratio"]]
    assert up == sorted(up) and page.get_attribute("[data-rows=all] th[data-column=ratio]", "aria-sort") == "ascending"
    page.click("[data-rows=all] th[data-column=ratio] button")
    ratios = [row["ratio"] for row in shown.rows("all")]
    down = [float(ratio) for ratio in ratios if ratio]
    assert down == sorted(down, reverse=True) and ratios.index("") == len(down)
    assert page.get_attribute("[data-rows=all] th[data-column=ratio]", "aria-sort") == "descending"
    page.click("[data-outcome=open]")
    assert {row["outcome"] for row in shown.rows("all")} == {"?"} and shown.focused() == "All results"
    clear(shown)
    page.click("[data-rows=all] th[data-column=outcome] button")


def test_a_click_opens_the_derivation_from_cell_to_law(demo_page: Page, shown: Any) -> None:
    page = shown.page
    shown.rows("exceeds")
    page.click("[data-rows=exceeds] tbody tr:first-child td.number")
    assert page.evaluate("document.getElementById('derivation').open")
    worst = max(
        (item for item in demo_page.contents.answer["outcomes"] if item["ratio"] and item["outcome"] == "exceeds"),
        key=lambda item: float(item["ratio"]),
    )
    assert page.text_content("#derivation-title") == worst["analyte"]
    with opened(demo_page.database) as connection:
        steps = explain_outcome(connection, demo_page.contents.answer["run"], worst["sample_id"], worst["analyte"])
    assert page.locator(".steps li span").all_text_contents() == [step["text"] for step in steps]
    assert any(worst["citation"] in step["text"] for step in steps) and worst["source"]["file"] in steps[0]["text"]
    page.click("#derivation .step[value='1']")
    assert page.text_content("#derivation-title") == shown.rows("exceeds")[1]["analyte"]
    page.keyboard.press("Escape")
    assert not page.evaluate("document.getElementById('derivation').open")


def test_the_keyboard_alone_is_enough(demo_page: Page, look: Callable[..., Any]) -> None:
    seen = look(demo_page.path)
    page = seen.page
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert seen.focused() == "Skip to the table of results"
    page.keyboard.press("Enter")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('[data-rows=all] tbody') !== null"):
            break
    where = "document.activeElement.closest('tr').sectionRowIndex"
    assert page.evaluate(where) == 0
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    assert page.evaluate(where) == 2 and "how its verdict came about" in seen.focused()
    page.keyboard.press("Enter")
    assert (
        page.evaluate("document.getElementById('derivation').open")
        and page.evaluate("document.activeElement.id") == "derivation-title"
    )
    page.keyboard.press("Escape")
    assert not page.evaluate("document.getElementById('derivation').open")
    assert page.evaluate(where) == 2 and "how its verdict came about" in seen.focused()
    page.keyboard.press("End")
    last = page.evaluate(where)
    page.keyboard.press("ArrowDown")
    assert last == 99 and page.evaluate(where) == 0 and "rows 101 to" in page.text_content("[data-rows=all] .pager .where")
    page.keyboard.press("PageUp")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.matches('.chosen h3')")
    assert page.evaluate("document.querySelectorAll('#plan .ring').length") == 1
    assert not seen.complaints


def test_a_location_shows_its_results_on_the_plan_and_its_profile(demo_page: Page, shown: Any) -> None:
    page = shown.page
    page.click("#plan [data-place='TV-T1-W']")
    assert page.text_content(".chosen h3") == "TV-T1-W"
    own = [item for item in demo_page.contents.answer["outcomes"] if item["location"] == "TV-T1-W"]
    found = Counter(row["mark"] for row in shown.rows("place"))
    assert {mark: found[mark] for mark in ("E", "?", "n")} == {
        MARKS[name]: sum(item["outcome"] == name for item in own) for name in ("exceeds", "open", "no_level")
    }
    assert "TV-T1-W" in page.text_content(".drawn figure svg")
    assert page.get_attribute("#plan [data-place='TV-T1-W']", "aria-pressed") == "true"
    page.focus("#plan [data-place='TV-T1-W']")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    assert page.text_content(".chosen h3") != "TV-T1-W"


def test_it_asks_nothing_of_the_network_and_complains_of_nothing(demo_page: Page, shown: Any) -> None:
    assert shown.requests == [demo_page.path.as_uri()]
    assert shown.complaints == []


PRUNE = """() => {
  const alike = ["tbody tr:nth-child(n+3)", "section:not(#plan) figure g", "details", "option:nth-child(n+4)", "ul li:nth-child(n+4)",
    "#plan [data-layer=labels] > *:nth-child(n+3)", "#plan [data-layer=marks] > *:nth-child(n+3)", "#plan [data-layer=list] > *:nth-child(n+3)"];
  document.querySelectorAll(alike.join()).forEach((part) => part.remove());
  document.querySelectorAll(".scroll").forEach((part) => part.classList.add("fits"));
}"""
"""Takes away what is like something that stays, and the shadows at the edges of tables, through which no contrast is measured."""


def test_no_serious_accessibility_finding(small_page: Page, look: Callable[..., Any]) -> None:
    """axe-core's rules for WCAG 2.0 to 2.2, levels A and AA, and its best practices; in the dark its rule of contrast again."""
    pytest.importorskip("axe_playwright_python")
    page = look(small_page.path).page
    page.select_option("#place", label="TV-T1-W")
    page.evaluate(PRUNE)
    page.evaluate((resources("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8"))
    runs = [page.evaluate("axe.run()")]
    page.select_option("#theme", "dark")
    runs.append(page.evaluate("axe.run('main', {runOnly: ['color-contrast']})"))
    page.click("[data-rows=all] tbody button.origin")
    runs.append(page.evaluate("axe.run('#derivation')"))
    for run in runs:
        grave = [
            (finding["id"], finding["help"], [node["html"][:120] for node in finding["nodes"][:3]])
            for finding in run["violations"]
            if finding["impact"] in ("serious", "critical")
        ]
        assert grave == []
        assert "color-contrast" in {one["id"] for one in run["passes"]}


@pytest.mark.parametrize("width", [320, 640], ids=["320 px", "1280 px at 200 %"])
def test_nothing_is_wider_than_a_narrow_window(narrow: Any, width: int) -> None:
    page = narrow.page
    page.set_viewport_size({"width": width, "height": 640})
    page.select_option("#place", label="TV-T1-W")
    assert page.evaluate("window.innerWidth") == width >= page.evaluate("document.documentElement.scrollWidth")
    page.click("[data-rows=all] tbody button.origin")
    assert page.evaluate("document.getElementById('derivation').scrollWidth") <= width
    page.keyboard.press("Escape")


def test_the_colours_follow_the_switch(narrow: Any) -> None:
    """Opened in the dark."""
    page = narrow.page
    ground = "getComputedStyle(document.body).backgroundColor"
    dark = page.evaluate(ground)
    page.select_option("#theme", "light")
    light = page.evaluate(ground)
    page.select_option("#theme", "dark")
    assert dark == page.evaluate(ground) != light
    page.select_option("#theme", index=0)


def test_paper_holds_every_row_and_no_control(small_page: Page, look: Callable[..., Any], tmp_path: Path) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed")
    shown = look(small_page.path)
    count = "document.querySelectorAll('[data-rows=all] tbody tr').length"
    drawn = shown.page.evaluate(count)
    paper = tmp_path / "page.pdf"
    shown.page.pdf(path=str(paper), prefer_css_page_size=True)
    text = subprocess.run(["pdftotext", "-layout", str(paper), "-"], capture_output=True, text=True, check=True).stdout
    sheets = text.split("\f")[:-1]
    answer = small_page.contents.answer
    for number, sheet in enumerate(sheets, start=1):
        assert f"run {answer['run']}, data state {answer['data']}" in sheet
        assert f"sheet {number} of {len(sheets)}" in sheet
    assert "Previous page" not in text and "Clear" not in text and "Colours" not in text
    assert "licensed professional" in sheets[0] and "Corrective action is indicated" in sheets[0]
    lines = text.splitlines()
    for item in answer["outcomes"]:
        if item["outcome"] == "exceeds":
            row = [line for line in lines if item["analyte"] in line and f" {item['ratio']}" in line and item["location"] in line]
            assert len(row) >= 2, item  # in the list and in the table
    assert drawn == shown.page.evaluate(count) == 100
