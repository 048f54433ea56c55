"""The evidence pack: what an inspector is handed of a site or a unit, as one PDF."""
