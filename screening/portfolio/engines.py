"""What runs the query of a portfolio: DuckDB on this machine, or Apache Spark on this machine or many."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from screening.errors import Misuse, Refused
from screening.store.database import SETTINGS
from screening.store.fill import columns_of

if TYPE_CHECKING:
    import duckdb

MEMORY = "1200MB"
"""What DuckDB may take before it puts work on the disk; reading and writing Parquet takes some more."""


AT_ONCE = 10_000_000
"""Amounts of sites that DuckDB works out together: not all that its joins hold can lie on the disk."""


class Engine(Protocol):
    """Names for the rows of Parquet folders and of queries; a query of `verdicts.sql` means the same in each.

    What is known to have no rows is told (``empty``), so that what hangs on it need not be worked out.
    """

    @property
    def version(self) -> str:
        """The engine's name and version."""

    @property
    def at_once(self) -> int:
        """Amounts up to which sites are worked out together; 0 where all are."""

    def parquet(self, name: str, folder: Path, columns: str, *, empty: bool = False) -> None:
        """Name the rows of a folder's Parquet files; ``columns`` are names with types, as "site VARCHAR, lower DECIMAL(38, 18)"."""

    def step(self, name: str, query: str, *, keep: bool, empty: bool = False) -> None:
        """Name the rows of a query; ``keep`` those that several later ones read."""

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """The rows of a query, few."""

    def write(self, query: str, folder: Path, part: int = 0) -> None:
        """Write the rows of a query as Parquet files into a new folder, or as a further part of them."""

    def close(self) -> None:
        """Give back what it holds."""


class DuckDB:
    """On this machine, within `MEMORY`; what does not fit goes into ``scratch`` for the while."""

    def __init__(self, scratch: Path) -> None:
        import duckdb

        self._connection: duckdb.DuckDBPyConnection = duckdb.connect(config={**SETTINGS})
        self._connection.execute(f"SET memory_limit = '{MEMORY}'")
        self._connection.execute(f"SET temp_directory = {_quoted(scratch)}")
        self._connection.execute("SET preserve_insertion_order = false")
        self.version = f"DuckDB {duckdb.__version__}"
        self.at_once = AT_ONCE

    def parquet(self, name: str, folder: Path, columns: str, *, empty: bool = False) -> None:
        del columns
        rows = f"SELECT * FROM read_parquet({_quoted(folder / '*.parquet')})"
        self.step(name, rows, keep=False, empty=empty)

    def step(self, name: str, query: str, *, keep: bool, empty: bool = False) -> None:
        kind, end = ("TABLE", " LIMIT 0") if empty else ("TABLE" if keep else "VIEW", "")
        self._connection.execute(f"CREATE OR REPLACE TEMP {kind} {name} AS SELECT * FROM ({query}) AS wanted{end}")

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        return self._connection.execute(query).fetchall()

    def write(self, query: str, folder: Path, part: int = 0) -> None:
        folder.mkdir(exist_ok=bool(part))
        to = _quoted(folder / f"part-{part:05d}.parquet")
        self._connection.execute(f"COPY ({query}) TO {to} (FORMAT parquet, COMPRESSION zstd)")

    def close(self) -> None:
        self._connection.close()


class Spark:
    """Apache Spark: on this machine, or on a cluster whose every machine sees the folders under the same path.

    What is kept lies in ``scratch`` as Parquet, so that no plan grows with the steps before it.
    """

    def __init__(self, scratch: Path, master: str = "", options: Mapping[str, str] | None = None) -> None:
        try:
            from pyspark.sql import SparkSession
        except ImportError as error:
            raise Refused("Apache Spark is not installed; install it with: pip install 'screening[spark]'") from error
        from shutil import which

        if not which("java"):
            raise Refused("Apache Spark needs Java 17 or later; on Debian: apt-get install default-jre-headless")
        settings = {**_DEFAULTS, "spark.master": master or "local[*]", **(options or {})}
        builder = SparkSession.builder.appName("screening portfolio")
        for key, value in settings.items():
            builder = builder.config(key, value)
        try:
            self._session: Any = builder.getOrCreate()
        except Exception as error:  # the Java side says so in many ways
            raise Refused(f"Apache Spark does not start ({_first_line(error)}); see its words above") from error
        self._session.sparkContext.setLogLevel("ERROR")
        self._scratch = scratch
        self.at_once = 0
        self.version = f"Apache Spark {self._session.version} ({self._session.sparkContext.master})"

    def parquet(self, name: str, folder: Path, columns: str, *, empty: bool = False) -> None:
        shape = columns.replace("VARCHAR", "STRING")
        frame = self._without_rows(columns_of(shape)) if empty else self._session.read.schema(shape).parquet(_address(folder))
        frame.createOrReplaceTempView(name)

    def step(self, name: str, query: str, *, keep: bool, empty: bool = False) -> None:
        frame = self._session.sql(query)
        shape = frame.schema
        if keep and not empty:
            self.write(query, self._scratch / name)
            frame = self._session.read.schema(shape).parquet(_address(self._scratch / name))
            empty = not frame.take(1)
        if empty:
            frame = self._without_rows([(one.name, one.dataType.simpleString()) for one in shape])
        frame.createOrReplaceTempView(name)

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        return [tuple(row) for row in self._session.sql(query).collect()]

    def write(self, query: str, folder: Path, part: int = 0) -> None:
        mode = "append" if part else "error"
        self._session.sql(query).write.mode(mode).option("compression", "zstd").parquet(_address(folder))

    def close(self) -> None:
        self._session.stop()

    def _without_rows(self, columns: Iterable[tuple[str, str]]) -> Any:
        """A frame known to have no rows, so that what is joined with it falls out of the plan; one made of Python's would not."""
        return self._session.sql(f"SELECT {', '.join(f'CAST(NULL AS {kind}) AS {name}' for name, kind in columns)} WHERE false")


_DEFAULTS = {
    "spark.ui.enabled": "false",
    "spark.sql.session.timeZone": "UTC",
    "spark.sql.ansi.enabled": "true",  # an amount that does not fit ends the query instead of becoming null
    "spark.sql.shuffle.partitions": "8",
    "spark.ui.showConsoleProgress": "false",
}


def engine(name: str, scratch: Path, master: str = "", options: Mapping[str, str] | None = None) -> Engine:
    """The engine 'duckdb' or 'spark'. Raises `Misuse` for words that are none of its."""
    if name == "spark":
        return Spark(scratch, master, options)
    if master or options:
        raise Misuse("--master and --spark are said with --engine spark")
    return DuckDB(scratch)


def _quoted(path: Path) -> str:
    return "'" + str(path).replace("'", "''") + "'"


def _address(folder: Path) -> str:
    return folder.resolve().as_uri()


def _first_line(error: Exception) -> str:
    return str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
