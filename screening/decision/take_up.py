"""What is known of a site, reviewed and chosen from: where every screen, review, list of results and portfolio begins."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from screening.quality.dry import dry
from screening.quality.editions import Edition
from screening.quality.review import Review, review
from screening.site.site_file import SiteFile
from screening.store.custody import lines_of
from screening.store.late_names import late_rows, take_out
from screening.store.match import gaps
from screening.store.snapshot import Snapshot, WaitingRow, load

if TYPE_CHECKING:
    import duckdb


def take_up(
    connection: duckdb.DuckDBPyConnection,
    site: SiteFile,
    snapshot: Snapshot,
    edition: Edition | None,
    settings: Mapping[str, str],
) -> tuple[list[WaitingRow], dict[str, str], Review]:
    """Take up what is known of a site, review it and choose one of several analyses, into temporary tables.

    Returns the rows that wait for a person, what is missing by sample and analysis, and the review.
    """
    waiting = load(connection, snapshot)
    missing = gaps(connection, site, snapshot, waiting)
    waiting += take_out(connection, late_rows(connection, site, snapshot))
    dry(connection, settings["missing_basis"])
    found = review(
        connection, edition, snapshot.decisions, chosen_rule=settings.get("chosen_rule", "default"),
        custody=lines_of(connection, site, snapshot.custody), custody_gaps=missing,
    )  # fmt: skip
    return waiting, missing, found
