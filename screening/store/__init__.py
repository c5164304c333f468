"""One truth in DuckDB: delivered layer, derived results, decisions, levels used, runs."""
