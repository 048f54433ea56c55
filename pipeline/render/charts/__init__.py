"""Charts as SVG text: pure functions of frozen values, the same bytes for the same values."""
