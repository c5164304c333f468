"""Offices of the tests of custody records."""

from __future__ import annotations

import pytest

from tests.conftest import Office


@pytest.fixture
def office(office: Office) -> Office:
    """Nothing here hangs on the review of quality."""
    office.reviewed = False
    return office
