"""A portfolio held against the levels of a day: the law laid down, the query run by an engine, the outcomes counted."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from screening.errors import Refused
from screening.files import new_folder
from screening.levels.versions import Standards, standards_folder
from screening.portfolio.engines import Engine, engine
from screening.portfolio.law import LAW_SHAPES, Laws, Question, SiteRow, laws_of
from screening.portfolio.shape import SHAPES, VALUE_COLUMNS, read_manifest
from screening.screen.outcomes import OUTCOMES
from screening.store.fill import columns_of, fill

CAUTION = (
    "A screening aid for a licensed professional's decision: the current rule decides, each level and its transcription must be "
    "checked against it, and a site is not clean while a result is open or a row is held back."
)
_STEP = re.compile(r"-- step (\w+)( keep)?(?: needs (\w+))?[^\n]*\n(.*?);\s*(?=-- step|\Z)", re.DOTALL)
_ASKS = """k.scheme_no = c.scheme_no AND k.analyte = c.analyte AND k.level_analyte = c.level_analyte AND k.medium = c.medium
    AND k.fraction = c.fraction AND k.only_table = coalesce(c.only_table, '')"""
_UNDATED = """
SELECT DISTINCT s.site
FROM value AS v
JOIN scheme_site AS s ON s.site_no = v.site_no
JOIN (SELECT DISTINCT scheme_no, level_table FROM span) AS t ON t.scheme_no = s.scheme_no
ANTI JOIN span AS p ON p.scheme_no = t.scheme_no AND p.level_table = t.level_table
    AND (p.since IS NULL OR v.sampled_on >= p.since) AND (p.until IS NULL OR v.sampled_on <= p.until)
    AND v.sampled_on IS NOT NULL
ORDER BY s.site LIMIT 9
"""
_OUTCOME = "site VARCHAR, level_table VARCHAR, version VARCHAR, outcome VARCHAR, outweighed BOOLEAN"
_SITE_COUNT = "site VARCHAR, level_table VARCHAR, version VARCHAR, " + ", ".join(f"{name} BIGINT" for name in OUTCOMES)
_COUNTS = ", ".join(f"CAST(sum(CASE WHEN outcome = '{name}' THEN 1 ELSE 0 END) AS BIGINT) AS {name}" for name in OUTCOMES)
_OF_SITE = (
    f"SELECT site, level_table, version, {_COUNTS} FROM outcome_file WHERE NOT outweighed GROUP BY site, level_table, version"
)
_OF_TABLE = f"""
SELECT level_table, version, count(*), {", ".join(f"sum(CASE WHEN {name} > 0 THEN 1 ELSE 0 END)" for name in ("exceeds", "open"))},
    {", ".join(f"sum({name})" for name in OUTCOMES)}
FROM site_count GROUP BY level_table, version ORDER BY level_table, version
"""
_UNSETTLED = {
    "sites_with_rows_held_back": "SELECT s.site FROM site AS s JOIN scheme_site AS a ON a.site_no = s.site_no WHERE s.held_back > 0 ORDER BY s.site",
    "sites_with_samples_missing": "SELECT s.site FROM site AS s JOIN scheme_site AS a ON a.site_no = s.site_no WHERE s.gaps > 0 ORDER BY s.site",
    "sites_with_nothing_compared": (
        "SELECT a.site FROM scheme_site AS a ANTI JOIN (SELECT site FROM site_count WHERE exceeds + does_not_exceed > 0) AS c "
        "ON c.site = a.site ORDER BY a.site"
    ),
}
"""Sites whose counts alone would say too little: `screen` leaves such a site undetermined."""


@dataclass(frozen=True)
class Step:
    """One step of the query: whether several later ones read it, and what must be there for it to have rows ('': nothing)."""

    name: str
    query: str
    keep: bool
    needs: str


def steps(duplicate_rule: str, *, dated: bool) -> Iterator[Step]:
    """The steps of the query in their order; ``dated`` where level rows serve some sampling days and not others."""
    text = (resources.files("screening.portfolio") / "verdicts.sql").read_text(encoding="utf-8")
    day = "coalesce(c.sampled_on, DATE '0001-01-01')" if dated else "CAST(NULL AS DATE)"
    marks = {
        "{value}": ", ".join(f"c.{name}" for name in (*VALUE_COLUMNS, "scheme_no", "site")), "{day}": day,
        "{asks}": f"{_ASKS} AND k.day = {day}" if dated else _ASKS, "{duplicate_rule}": duplicate_rule,
    }  # fmt: skip
    for name, keep, needs, query in _STEP.findall(text):
        for mark, words in marks.items():
            query = query.replace(mark, words)
        yield Step(name, query, bool(keep), needs)


def screen_portfolio(
    folder: Path, to: Path, question: Question, today: dt.date, engine_name: str = "duckdb", master: str = "",
    options: Mapping[str, str] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """Hold every site of a portfolio against its levels and write the outcomes and the law as Parquet into a new folder.

    Returns the counts by level table. Raises `Refused` for a folder that is no portfolio, one that is there already, and
    samples without a day where each is held against the levels of its day.
    """
    manifest = read_manifest(folder)
    standards = Standards([standards_folder()], manifest.own_levels)
    with new_folder(to) as beside:
        scratch = beside / "scratch"
        scratch.mkdir()
        found = engine(engine_name, scratch, master, options)
        try:
            there = _shapes_there(folder)
            for name, columns in SHAPES.items():
                found.parquet(name, folder / name, columns, empty=name not in there)
            sites = found.rows("SELECT site_no, site, site_file, levels, settings FROM site ORDER BY site_no")
            laws = laws_of(standards, manifest, [SiteRow(*row) for row in sites], question, today)
            _lay_down(laws, beside / "law")
            there |= _law_there(laws)
            for name, columns in LAW_SHAPES.items():
                found.parquet(name, beside / "law" / name, columns, empty=name not in there)
            there |= {"strikes"} if there & {"counted_part", "derived_value", "several"} else set()
            _refuse_undated(found, laws)
            for part, (first, last) in enumerate(_portions(found)):
                found.step("site_in_hand", f"SELECT * FROM scheme_site WHERE site_no BETWEEN {first} AND {last}", keep=True)
                for step in steps(question.duplicate_rule, dated="dated" in there):
                    found.step(step.name, step.query, keep=step.keep, empty=bool(step.needs) and step.needs not in there)
                found.write("SELECT * FROM answer", beside / "outcome", part)
            found.parquet("outcome_file", beside / "outcome", _OUTCOME)
            found.write(_OF_SITE, beside / "site_count")
            found.parquet("site_count", beside / "site_count", _SITE_COUNT)
            tables = found.rows(_OF_TABLE)
            unsettled = {name: [site for (site,) in found.rows(query)] for name, query in _UNSETTLED.items()}
            version = found.version
        finally:
            found.close()
            shutil.rmtree(scratch, ignore_errors=True)
    return _document(folder, to, version, tables, laws, len(sites), unsettled)


def _portions(found: Engine) -> list[tuple[int, int]]:
    """Numbers of sites from and to, so few that the engine can work out their amounts together."""
    if not found.at_once:
        return [
            (first, last) for first, last in found.rows("SELECT min(site_no), max(site_no) FROM site") if first is not None
        ] or [(0, -1)]
    portions: list[tuple[int, int]] = []
    together = 0
    for site, amounts in found.rows("SELECT site_no, count(*) FROM value GROUP BY site_no ORDER BY site_no"):
        together += amounts
        if portions and together <= found.at_once:
            portions[-1] = (portions[-1][0], site)
        else:
            portions.append((site, site))
            together = amounts
    return portions or [(0, -1)]


def needs_eyes(document: Mapping[str, Any]) -> bool:
    """Whether something exceeds or is open, or a site is not answered whole: refused, with rows held back, gaps or nothing compared."""
    counts = document["counts"]
    return bool(counts["exceeds"] or counts["open"] or document["refused"] or any(document[name] for name in _UNSETTLED))


def _shapes_there(folder: Path) -> set[str]:
    """The folders of a portfolio that hold rows, by the ends of their files."""
    import duckdb

    def rows(files: Path) -> int:
        return int(connection.execute("SELECT sum(num_rows) FROM parquet_file_metadata(?)", [str(files)]).fetchall()[0][0] or 0)

    with duckdb.connect() as connection:
        return {name for name in SHAPES if rows(folder / name / "*.parquet")}


def _law_there(laws: Laws) -> set[str]:
    """What the law has: tables of it with rows, and what only some tables in use ask for."""
    there = {name for name, rows in laws.rows.items() if rows}
    for mark, name, column in (
        ("stands_in", "level_row", "stand_in"), ("perhaps", "covered", "perhaps"), ("several", "scheme_site", "several"),
    ):  # fmt: skip
        at = [one for one, _ in columns_of(LAW_SHAPES[name])].index(column)
        there |= {mark} if any(row[at] for row in laws.rows[name]) else set()
    there |= {"together"} if not all(row[-1] for row in laws.rows["level_row"]) else set()
    dates = [at for at, (_, kind) in enumerate(columns_of(LAW_SHAPES["level_row"])) if kind == "DATE"]
    return there | ({"dated"} if any(row[at] for row in laws.rows["level_row"] for at in dates) else set())


def _lay_down(laws: Laws, folder: Path) -> None:
    import duckdb

    with duckdb.connect() as connection:
        for name, columns in LAW_SHAPES.items():
            (folder / name).mkdir(parents=True)
            fill(connection, name, columns, laws.rows[name])
            path = str(folder / name / "part-00000.parquet").replace("'", "''")
            connection.execute(f"COPY {name} TO '{path}' (FORMAT parquet)")


def _refuse_undated(found: Engine, laws: Laws) -> None:
    if not laws.rows["span"]:
        return
    lost = [site for (site,) in found.rows(_UNDATED)]
    if lost:
        more = " and more" if len(lost) > 8 else ""
        raise Refused(
            f"--levels-on sampling: samples without a day, or of a day with no version in force, at {', '.join(lost[:8])}{more}; "
            "name a day instead"
        )


def _document(
    folder: Path,
    to: Path,
    version: str,
    tables: Sequence[tuple[Any, ...]],
    laws: Laws,
    sites: int,
    unsettled: Mapping[str, Sequence[str]],
) -> dict[str, Any]:
    found = [
        {
            "table": name, "version": effective, "sites": int(count), "sites_exceeding": int(exceeding), "sites_open": int(unsettled),
            **dict(zip(OUTCOMES, map(int, counts), strict=True)),
        }
        for name, effective, count, exceeding, unsettled, *counts in tables
    ]  # fmt: skip
    return {
        "portfolio": str(folder), "engine": version, "sites": sites - len(laws.refused), "refused": laws.refused,
        **unsettled, "tables": found, "assumptions": laws.assumptions,
        "counts": {name: sum(one[name] for one in found) for name in OUTCOMES},
        "files": [str(to / name) for name in ("outcome", "site_count", "law")], "caution": CAUTION,
    }  # fmt: skip
