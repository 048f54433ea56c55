"""From staged rows to verdicts; rows that break a critical rule are held."""
