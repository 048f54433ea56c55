"""What the pages read: one query of sql/page/ a table, for the whole network at once."""
