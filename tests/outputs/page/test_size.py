"""The page with 20,000 results: the demo's page with its rows repeated, every text of a derivation its own."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from screening.outputs.page.policy import block

ROWS = 20_000
SECONDS = 2.0
"""Of work until all is there; processor time, so that other work on the machine does not count."""


@pytest.fixture(scope="module")
def large(demo_page: Any, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page of 20,000 rows and more than 5 million characters."""
    html = demo_page.html
    table, said = (json.loads(_block(html, name)) for name in ("rows", "derivations"))
    times = -(-ROWS // table["count"])
    columns = {name: {"texts": one["texts"], "codes": one["codes"] * times} for name, one in table["columns"].items()}
    texts = [f"{text} (copy {copy})" for copy in range(times) for text in said["texts"]]
    step = len(said["texts"])
    rows = [
        [number + copy * step if at % 2 else number for at, number in enumerate(row)]
        for copy in range(times)
        for row in said["rows"]
    ]
    made = {
        "rows": {**table, "count": table["count"] * times, "columns": columns},
        "derivations": {"names": said["names"], "texts": texts, "rows": rows},
    }
    for name, document in made.items():
        html = html.replace(_block(html, name), str(block(document)))
    assert len(html) > 5_000_000
    path = tmp_path_factory.mktemp("large") / "page.html"
    path.write_text(html, encoding="utf-8")
    return path


def _block(html: str, name: str) -> str:
    found = re.search(rf'id="data-{name}">(.*?)</script>', html, re.S)
    assert found
    return found.group(1)


def test_it_opens_at_once_and_answers_at_once(large: Path, demo_page: Any, look: Callable[..., Any]) -> None:
    seen = look(demo_page.path)
    session = seen.page.context.new_cdp_session(seen.page)
    session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def worked() -> float:
        return float({one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}["TaskDuration"])

    seen.page.goto(large.as_uri())
    opened = worked()
    count = seen.page.evaluate("document.querySelectorAll('[data-rows=all] tbody tr').length")
    assert count == 100 and f"{ROWS:,}"[:3] in seen.told("all")
    assert opened < SECONDS, f"{opened:.2f} s"
    before = worked()
    seen.page.fill("#words", "benzene 12.5")
    seen.page.press("#words", "Enter")
    seen.page.click("[data-rows=all] th[data-column=result] button")
    seen.page.click("[data-rows=all] tbody button.origin")
    assert "(copy " in seen.page.text_content(".steps li")
    assert worked() - before < SECONDS / 2, f"{worked() - before:.2f} s"
