"""Workbook and document as another program prints them; skipped where LibreOffice or poppler is not installed."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from screening.decision.contents import Contents

OFFICE, TEXT = shutil.which("soffice"), shutil.which("pdftotext")
pytestmark = pytest.mark.skipif(not OFFICE or not TEXT, reason="LibreOffice or pdftotext is not installed")


@pytest.fixture(scope="module")
def printed(package: Mapping[str, bytes], tmp_path_factory: Any) -> dict[str, list[str]]:
    """The pages of both as text, laid out."""
    folder: Path = tmp_path_factory.mktemp("printed")
    names = ("workbook.xlsx", "document.docx")
    for name in names:
        (folder / name).write_bytes(package[name])
    own = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    words = [
        str(OFFICE),
        own,
        "--headless",
        "--convert-to",
        "pdf",
        "--outdir",
        str(folder),
        *(str(folder / name) for name in names),
    ]
    subprocess.run(words, check=True, capture_output=True, timeout=240)
    found = {}
    for name in names:
        text = subprocess.run(
            [str(TEXT), "-layout", str(folder / name).rsplit(".", 1)[0] + ".pdf", "-"],
            check=True,
            capture_output=True,
            timeout=60,
        ).stdout.decode("utf-8")
        found[name] = text.split("\f")[:-1]
    return found


def test_pages_of_the_workbook(printed: dict[str, list[str]], contents: Contents) -> None:
    pages = printed["workbook.xlsx"]
    assert 25 <= len(pages) <= 50
    for page in pages:
        assert f"data state {contents.answer['data']}" in page and "screening aid" in page
    soil = [page for page in pages if page.lstrip().split("\n")[0].rstrip().endswith("Soil results, mg/kg")]
    assert len(soil) == 3
    samples = {
        item["sample_id"] for item in (*contents.answer["outcomes"], *contents.answer["outweighed"]) if item["medium"] == "soil"
    }
    for sample in samples:
        (page,) = [page for page in soil if any({"Sample", sample} <= set(line.split()) for line in page.split("\n"))]
        assert "Benzene" in page and "Result" in page, "every page names its analytes"


def test_every_exceedance_is_on_paper(printed: dict[str, list[str]], contents: Contents) -> None:
    exceeding = [item for item in contents.answer["outcomes"] if item["outcome"] == "exceeds"]
    for name in printed:
        marks = sum(line.split().count("E") for page in printed[name] for line in page.split("\n") if " results" not in line)
        assert marks >= 2 * len(exceeding), f"{name}: once in the tables and once in the list"


def test_pages_of_the_document(printed: dict[str, list[str]]) -> None:
    pages = printed["document.docx"]
    assert 16 <= len(pages) <= 24
    assert "CORRECTIVE ACTION IS INDICATED" in pages[0]
    assert "Signature:" in " ".join(pages) and "Date:" in next(page for page in pages if "Signature:" in page), (
        "signed on one page"
    )
    assert all(len(page.split()) > 20 for page in pages), "no page holds nothing but its head and foot"
