"""What the tests of the page share: a browser, the demo's page, a page full of hostile text."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest

from screening.decision.contents import Contents
from screening.outputs.page import NAME, files

BROWSERS = ("chromium", "chromium-browser", "google-chrome")


@dataclass(frozen=True)
class Made:
    """A page: its contents, its file, the store that it came from."""

    contents: Contents
    path: Path
    database: Path

    @property
    def html(self) -> str:
        """The text of the page."""
        return self.path.read_text(encoding="utf-8")


@dataclass
class Seen:
    """A page open in the browser, with what it asked of the network and what it complained of."""

    page: Any
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def rows(self, name: str) -> list[dict[str, str]]:
        """Every row of a table of comparisons, as a reader reads it: column to text."""
        found: list[dict[str, str]] = self.page.evaluate(READ_ROWS, name)
        return found

    def told(self, name: str) -> str:
        """What the live line above a table says."""
        return str(self.page.text_content(f'[data-rows="{name}"] .told'))

    def focused(self) -> str:
        """The text of what has the focus."""
        return str(self.page.evaluate("document.activeElement.textContent"))


READ_ROWS = """name => {
  const root = document.querySelector(`[data-rows="${name}"]`);
  const all = root.querySelector(".pager button:last-child");
  if (!root.querySelector(".pager").hidden && all.textContent === "Show all") all.click();
  const heads = [...root.querySelectorAll("thead th")].map((head) => head.dataset.column);
  return [...root.querySelectorAll("tbody tr")].map((line) => Object.fromEntries([...line.cells].map((cell, at) => {
    const kept = cell.cloneNode(true);
    kept.querySelectorAll(".unseen, .narrow, .sample").forEach((part) => part.remove());
    return [heads[at], kept.textContent];
  })));
}"""


@pytest.fixture(scope="session")
def demo_page(tmp_path_factory: pytest.TempPathFactory, contents: Contents, demo_run: tuple[Path, str]) -> Made:
    """The page of the demo."""
    path = tmp_path_factory.mktemp("demo_page") / NAME
    path.write_bytes(files(contents)[NAME])
    return Made(contents, path, demo_run[0])


@pytest.fixture(scope="session")
def small_page(tmp_path_factory: pytest.TempPathFactory, contents: Contents, demo_run: tuple[Path, str]) -> Made:
    """The page of some places of the demo: all kinds of parts, in more than a hundred rows, and quickly printed."""
    places = {"TV-T1-W", "TV-PIT-W", "TV-SW-N", "TV-D3", "TV-D1", "TV-T3-W"}

    def there(items: Any) -> list[Any]:
        return [item for item in items if item["location"] in places]

    outcomes = there(contents.answer["outcomes"])
    counts = {name: sum(item["outcome"] == name for item in outcomes) for name in contents.answer["counts"]}
    answer = {**contents.answer, "outcomes": outcomes, "outweighed": there(contents.answer["outweighed"]), "counts": counts}
    small = replace(contents, answer=answer, results=there(contents.results))
    path = tmp_path_factory.mktemp("small_page") / NAME
    path.write_bytes(files(small)[NAME])
    return Made(small, path, demo_run[0])


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One browser for all tests of the page."""
    program = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if program is None:
        pytest.skip("no chromium is installed")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        yield running
        running.close()


@pytest.fixture(scope="session")
def look(browser: Any) -> Iterator[Callable[..., Seen]]:
    """Open a page in a context of its own: ``look(path, width=..., dark=...)``."""
    contexts = []

    def opened_page(path: Path, width: int = 1200, height: int = 900, dark: bool = False) -> Seen:
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light")
        contexts.append(context)
        seen = Seen(context.new_page())
        seen.page.on("request", lambda request: seen.requests.append(request.url))
        seen.page.on("console", lambda message: seen.complaints.append(message.text))
        seen.page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        seen.page.on("dialog", lambda dialog: (seen.complaints.append(f"dialog {dialog.message}"), dialog.dismiss()))
        seen.page.goto(path.as_uri())
        return seen

    yield opened_page
    for context in contexts:
        context.close()
