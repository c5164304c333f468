"""A table of one's own, as the tests of the rules have it."""

from tests.rules.conftest import rule

__all__ = ["rule"]
