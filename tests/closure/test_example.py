"""The commented example of a site file: every line that is commented out is valid once it is not."""

from __future__ import annotations

import re
from pathlib import Path

from screening.site.site_file import SiteFile, parse_site

EXAMPLE = Path(__file__).resolve().parents[2] / "screening" / "site" / "example_site.toml"
KEY = re.compile(r"^# (?=(\[|[a-z_]+ = ))", re.MULTILINE)


def test_every_commented_key_is_a_key() -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    parse_site(text, "example")
    site = parse_site(KEY.sub("", text), "example uncommented")
    unused = {name for name in SiteFile.fields if not getattr(site, name)}
    assert unused == set()


def test_events_take_days_and_moments() -> None:
    site = parse_site(KEY.sub("", EXAMPLE.read_text(encoding="utf-8")), "example")
    assert str(site.events["removed"]) == "2025-05-06" and str(site.events["discovery"]) == "2025-05-06 15:00:00-04:00"
