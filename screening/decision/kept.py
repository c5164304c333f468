"""The texts that runs used, as the store keeps them; each is read once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from screening.closure.library import Library
from screening.decision.answer import Texts
from screening.decision.request import LevelUsed, Request
from screening.levels.versions import Standards
from screening.quality.editions import Edition, parse_edition
from screening.store import level_texts, review_texts, rule_texts
from screening.store.rule_texts import RuleUsed

if TYPE_CHECKING:
    import duckdb


class Kept:
    """The law and the rules of runs, as they were then. Raises `Altered` where the store has lost one."""

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection
        self._standards: dict[tuple[LevelUsed, ...], Standards] = {}
        self._libraries: dict[tuple[RuleUsed, ...], Library] = {}
        self._editions: dict[tuple[str, str], Edition] = {}

    def texts(self, request: Request) -> Texts:
        """All texts that a request names."""
        return Texts(self.standards(request.levels), self.library(request.rule_files), self.edition(request))

    def standards(self, levels: tuple[LevelUsed, ...]) -> Standards:
        """Just these versions of level tables."""
        if levels not in self._standards:
            self._standards[levels] = level_texts.kept_standards(self._connection, levels)
        return self._standards[levels]

    def library(self, files: tuple[RuleUsed, ...]) -> Library:
        """Just these rule files."""
        if files not in self._libraries:
            self._libraries[files] = Library(None, rule_texts.kept(self._connection, files))
        return self._libraries[files]

    def edition(self, request: Request) -> Edition | None:
        """The review edition; None where a request has none."""
        used = request.review
        if used is None:
            return None
        key = (used.edition, used.sha256)
        if key not in self._editions:
            self._editions[key] = parse_edition(used.edition, review_texts.kept(self._connection, used.sha256))
        return self._editions[key]
