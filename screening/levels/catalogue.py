"""What level tables there are, and their rows as printed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from screening.levels.shape import day
from screening.levels.versions import Standards, parse_reference


def catalogue(standards: Standards) -> list[dict[str, Any]]:
    """One entry a table: versions with days and numbers of levels, media, stage, transcription, gaps."""
    entries = []
    for name in standards.names():
        table = standards.table(name)
        versions = [standards.version(name, effective) for effective in standards.days(name)]
        rows = [row for version in versions for row in version.rows]
        entries.append(
            {
                "table": name, "title": table.title, "issuing_body": table.issuing_body, "citation": table.citation,
                "media": list(table.media), "stage": table.stage, "comparison": table.comparison,
                "transcription": sorted({row.transcription for row in rows}),
                "incomplete": [f"{gap.scope}: {gap.text}" for gap in table.incomplete],
                "conditions": {key: list(one.values) for key, one in table.conditions.items()},
                "versions": [
                    {
                        "version": version.effective.isoformat(),
                        "until": version.until.isoformat() if version.until else None,
                        "levels": len(version.rows),
                        "sha256": version.sha256,
                    }
                    for version in versions
                ],
            }
        )  # fmt: skip
    return entries


def as_markdown(entries: Sequence[Mapping[str, Any]]) -> str:
    """The catalogue as a markdown table, one row a table; 'part' marks a table of which only a part was read."""
    lines = ["| table | title | media | stage | versions | levels | read | |", "|---|---|---|---|---|---|---|---|"]
    for entry in entries:
        versions = ", ".join(one["version"] + (f" to {one['until']}" if one["until"] else "") for one in entry["versions"])
        cells = (
            entry["table"], entry["title"], ", ".join(entry["media"]).replace("_", " "), entry["stage"], versions,
            str(sum(one["levels"] for one in entry["versions"])), ", ".join(entry["transcription"]),
            "part" if entry["incomplete"] else "",
        )  # fmt: skip
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def level_rows(standards: Standards, reference: str) -> list[dict[str, Any]]:
    """The rows of a table's named or newest version. Raises `Refused` for an unknown table or version."""
    name, effective = parse_reference(reference)
    days = standards.days(name)
    version = standards.version(name, effective or max(days, key=lambda text: day(text, name, "a version's day")))
    return [
        {
            "analyte": row.analyte, "printed_analyte": row.printed_analyte, "cas": row.cas, "medium": row.medium,
            "level": row.printed, "unit": row.unit, "kind": row.kind, "conditions": dict(row.conditions),
            "comparison": row.comparison, "basis": row.basis, "note": row.note, "citation": row.citation,
            "transcription": row.transcription, "source": row.source, "version": version.effective.isoformat(),
        }
        for row in version.rows
    ]  # fmt: skip
