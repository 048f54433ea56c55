"""The DuckDB files, the statements in sql/, and what is rebuilt when new rows come."""
