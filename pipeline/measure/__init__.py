"""From model tables to figures, intervals, ranks and findings."""
