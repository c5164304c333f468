"""Many sites at once: their values written out as Parquet, and held against levels in one query by DuckDB or Apache Spark."""
