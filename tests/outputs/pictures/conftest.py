"""The demo's pictures, drawn once."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from screening.decision.contents import Contents
from screening.outputs import pictures


@pytest.fixture(scope="session")
def demo_pictures(contents: Contents) -> Mapping[str, str]:
    """Every picture of the demo as svg, by name."""
    return dict(pictures.drawn(contents))
