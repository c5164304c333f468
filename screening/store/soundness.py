"""What must hold in every store, as queries that find the rows where it does not: account of rows, references, answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import duckdb

MOST = 20
"""Problems told of one law; the rest is counted."""


@dataclass(frozen=True)
class Problem:
    """One row that breaks a law: its table, which row, and what is wrong in plain words."""

    table: str
    row: str
    text: str


@dataclass(frozen=True)
class Check:
    """One law: how many rows were looked at, and the problems found (``more`` beyond those told)."""

    check: str
    title: str
    looked: int
    problems: list[Problem] = field(default_factory=list)
    more: int = 0


@dataclass(frozen=True)
class Law:
    """A query for the rows of a table that break a law: the first column says which row, the others fill the words."""

    table: str
    query: str
    words: str


ACCOUNT = (
    Law(
        "deliverable",
        "SELECT id, rows_read, results, quality_control, held_back, ignored FROM deliverable "
        "WHERE rows_read != results + quality_control + held_back + ignored",
        "{0} rows were read, but {1} results, {2} of quality control, {3} held back and {4} ignored are counted",
    ),
    Law(
        "deliverable",
        "SELECT d.id, k.word, k.counted, count(v.row_id) FROM deliverable AS d, LATERAL (VALUES ('result', d.results), "
        "('quality_control', d.quality_control), ('held', d.held_back), ('ignored', d.ignored)) AS k(word, counted) "
        "LEFT JOIN delivered AS v ON v.deliverable = d.number AND v.class = k.word "
        "GROUP BY d.id, k.word, k.counted HAVING count(v.row_id) != k.counted",
        "it counts {1} rows of the class '{0}', the table delivered holds {2}",
    ),
    Law(
        "deliverable",
        "SELECT d.id, d.results + d.quality_control, count(r.row_id) FROM deliverable AS d "
        "LEFT JOIN result AS r ON r.deliverable = d.number AND r.decision IS NULL "
        "GROUP BY ALL HAVING count(r.row_id) != d.results + d.quality_control",
        "{0} results and quality-control rows were taken at import, the table result holds {1}",
    ),
    Law(
        "deliverable",
        "SELECT d.id, d.held_back, count(h.id) FROM deliverable AS d "
        "LEFT JOIN held AS h ON h.deliverable = d.number AND h.decision IS NULL "
        "GROUP BY ALL HAVING count(h.id) != d.held_back",
        "{0} rows were held back at import, the table held has {1}",
    ),
    Law(
        "delivered",
        "SELECT row_id, class FROM delivered WHERE class NOT IN ('result', 'quality_control', 'held', 'ignored')",
        "its class '{0}' is none of result, quality_control, held, ignored",
    ),
    Law("delivered", "SELECT row_id, count(*) FROM delivered GROUP BY row_id HAVING count(*) > 1", "the row is there {0} times"),
    Law(
        "delivered",
        "SELECT min(row_id), deliverable, count(*), max(row_id) FROM delivered GROUP BY deliverable "
        "HAVING max(row_id) - min(row_id) + 1 != count(*)",
        "the rows of deliverable number {0} up to {2} are not one unbroken run: {1} are there",
    ),
    Law(
        "result",
        "SELECT row_id, decision, count(*) FROM result GROUP BY row_id, decision HAVING count(*) > 1",
        "the row is there {1} times by the same act (decision {0})",
    ),
    Law(
        "result",
        "SELECT r.row_id, r.class, v.class FROM result AS r JOIN delivered AS v USING (row_id) "
        "WHERE r.decision IS NULL AND r.class != v.class",
        "it is a '{0}', the delivered row was taken as '{1}'",
    ),
    Law(
        "deliverable",
        "SELECT id, number FROM deliverable WHERE number > (SELECT count(*) FROM deliverable) OR number < 1",
        "its number {0} leaves a gap: a deliverable is missing",
    ),
)

REFERENCES = (
    Law(
        "delivered",
        "SELECT row_id, deliverable FROM delivered WHERE deliverable NOT IN (SELECT number FROM deliverable)",
        "there is no deliverable number {0}",
    ),
    Law(
        "result",
        "SELECT r.row_id, r.deliverable FROM result AS r LEFT JOIN delivered AS v "
        "ON v.row_id = r.row_id AND v.deliverable = r.deliverable WHERE v.row_id IS NULL",
        "deliverable number {0} has no such delivered row",
    ),
    Law(
        "result",
        "SELECT row_id, decision FROM result WHERE decision IS NOT NULL "
        "AND decision NOT IN (SELECT number FROM decision WHERE kind = 'held_accepted')",
        "decision {0}, which let it in, is missing or no acceptance",
    ),
    Law(
        "held",
        "SELECT h.id, h.row_id, h.deliverable FROM held AS h LEFT JOIN delivered AS v "
        "ON v.row_id = h.row_id AND v.deliverable = h.deliverable WHERE v.row_id IS NULL",
        "deliverable number {1} has no delivered row {0}",
    ),
    Law(
        "held",
        "SELECT id, decision FROM held WHERE decision IS NOT NULL AND decision NOT IN (SELECT number FROM decision)",
        "decision {0}, which left this question, is missing",
    ),
    Law(
        "deliverable",
        "SELECT id, site FROM deliverable WHERE site NOT IN (SELECT site FROM site_file)",
        "there is no site file of its site '{0}'",
    ),
    Law(
        "deliverable",
        "SELECT n.id, n.replaces FROM deliverable AS n WHERE n.replaces IS NOT NULL "
        "AND NOT EXISTS (SELECT 1 FROM deliverable AS o WHERE o.id = n.replaces AND o.site = n.site AND o.number < n.number)",
        "there is no earlier deliverable '{0}' of its site for it to replace",
    ),
    Law(
        "custody",
        "SELECT n.id, n.replaces FROM custody AS n WHERE n.replaces IS NOT NULL "
        "AND NOT EXISTS (SELECT 1 FROM custody AS o WHERE o.id = n.replaces AND o.site = n.site AND o.number < n.number)",
        "there is no earlier custody record '{0}' of its site for it to replace",
    ),
    Law(
        "custody",
        "SELECT id, site FROM custody WHERE site NOT IN (SELECT site FROM site_file)",
        "there is no site file of its site '{0}'",
    ),
    Law(
        "custody",
        "SELECT id FROM custody WHERE number NOT IN (SELECT custody FROM custody_line)",
        "it has no line",
    ),
    Law(
        "custody_line",
        "SELECT row, custody FROM custody_line WHERE custody NOT IN (SELECT number FROM custody)",
        "there is no custody record number {0}",
    ),
    Law(
        "site_file",
        "SELECT site || ' revision ' || revision, 1 FROM site_file AS f "
        "WHERE revision > (SELECT count(*) FROM site_file AS o WHERE o.site = f.site) OR revision < 1",
        "a revision before it is missing",
    ),
    Law(
        "run",
        "SELECT id, site FROM run WHERE site NOT IN (SELECT site FROM site_file)",
        "there is no site file of its site '{0}'",
    ),
    Law(
        "run",
        "SELECT id FROM run WHERE id NOT IN (SELECT run FROM run_asked WHERE made)",
        "nothing tells who asked for it",
    ),
    Law("run_asked", "SELECT number, run FROM run_asked WHERE run NOT IN (SELECT id FROM run)", "there is no run '{0}'"),
    Law(
        "rescreen_site",
        "SELECT site || ' of rescreen ' || rescreen, rescreen FROM rescreen_site "
        "WHERE rescreen NOT IN (SELECT number FROM rescreen)",
        "there is no rescreen number {0}",
    ),
    Law(
        "rescreen_site",
        "SELECT s.site || ' of rescreen ' || s.rescreen, named.run FROM rescreen_site AS s, "
        "LATERAL (VALUES (s.before_run), (s.run)) AS named(run) "
        "WHERE named.run IS NOT NULL AND named.run NOT IN (SELECT id FROM run)",
        "there is no run '{0}'",
    ),
)

ANSWERS = (
    Law(
        "decision",
        "SELECT number, subject FROM decision WHERE kind IN ('held_accepted', 'held_rejected') "
        "AND subject NOT IN (SELECT id FROM held)",
        "there is no held row '{0}', which it answers",
    ),
    Law(
        "decision",
        "SELECT max(number), subject, count(*) FROM decision WHERE kind IN ('held_accepted', 'held_rejected') "
        "GROUP BY subject HAVING count(*) > 1",
        "held row '{0}' is answered {1} times",
    ),
    Law(
        "decision",
        "SELECT number, subject FROM decision WHERE kind = 'held_accepted' "
        "AND number NOT IN (SELECT decision FROM result WHERE decision IS NOT NULL) "
        "AND number NOT IN (SELECT decision FROM held WHERE decision IS NOT NULL)",
        "it accepts held row '{0}', but no result and no further question came of it",
    ),
    Law(
        "decision",
        "SELECT number, subject FROM decision WHERE kind = 'qualifier_taught' AND subject NOT IN (SELECT id FROM deliverable)",
        "there is no deliverable '{0}', whose letters it explains",
    ),
    Law(
        "decision",
        "SELECT number, subject FROM decision WHERE kind IN ('analyte_taught', 'word_taught') AND subject NOT IN (SELECT id FROM held)",
        "there is no held row '{0}', from which it was learned",
    ),
    Law(
        "decision",
        "SELECT number, subject FROM decision WHERE kind = 'levels_added' "
        "AND new_text NOT IN (SELECT sha256 FROM level_text WHERE own)",
        "the levels {0} that were added are missing",
    ),
    Law(
        "decision",
        "SELECT number, subject FROM decision WHERE kind = 'review_override' AND NOT EXISTS (SELECT 1 FROM delivered AS v "
        "JOIN deliverable AS d ON d.number = v.deliverable WHERE d.id = json_extract_string(subject, '$[0]') "
        "AND v.sheet = json_extract_string(subject, '$[1]') AND v.row = CAST(json_extract_string(subject, '$[2]') AS INTEGER) "
        "AND v.column_letter = json_extract_string(subject, '$[3]'))",
        "there is no delivered row {0}, whose worth it states",
    ),
    Law(
        "decision",
        "SELECT number, site FROM decision WHERE site != '' AND site NOT IN (SELECT site FROM site_file)",
        "there is no site file of its site '{0}'",
    ),
)


def checked_account(connection: duckdb.DuckDBPyConnection) -> Check:
    """Rows read against rows kept, in every table that counts or keeps them."""
    return _held_to(connection, "account", "every row read is kept once, in one class", ACCOUNT, ("delivered",))


def checked_references(connection: duckdb.DuckDBPyConnection) -> Check:
    """What rows refer to in other tables."""
    tables = tuple(dict.fromkeys(law.table for law in REFERENCES))
    return _held_to(connection, "references", "every row refers to rows that are there", REFERENCES, tables)


def checked_answers(connection: duckdb.DuckDBPyConnection) -> Check:
    """What decisions are about, and what came of them."""
    return _held_to(connection, "answers", "every decision has its subject and its effect", ANSWERS, ("decision",))


def _held_to(
    connection: duckdb.DuckDBPyConnection, name: str, title: str, laws: tuple[Law, ...], tables: tuple[str, ...]
) -> Check:
    problems: list[Problem] = []
    for law in laws:
        found: list[tuple[Any, ...]] = connection.execute(law.query).fetchall()
        problems += [Problem(law.table, str(row[0]), law.words.format(*row[1:])) for row in found]
    looked = 0
    for table in tables:
        row = connection.execute(f"SELECT count(*) FROM {table}").fetchone()
        looked += int(row[0]) if row else 0
    return told(name, title, looked, problems)


def told(name: str, title: str, looked: int, problems: list[Problem]) -> Check:
    """A check whose first problems are told and the rest counted."""
    return Check(name, title, looked, problems[:MOST], max(0, len(problems) - MOST))
