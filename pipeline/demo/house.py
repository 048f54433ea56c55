"""The practice profile of the invented network: a weekly spore test, and the tests beside it."""

PRACTICE = "saltmarsh-isles"
PROFILE = r'''# The rules of the Saltmarsh Isles Clinics, which are invented.
# A network's own profile inherits one that ships, and says what differs.
title = "Saltmarsh Isles Clinics"
asks = """
A spore test of every unit at least once a week, a steam penetration test on each day of use and a \
leak test each week where a vacuum is pulled, and an indicator in every load."""
jurisdiction = "the invented Saltmarsh Isles Clinics"
reviewed_on = 2026-06-01
inherits = "weekly"

[[routine]]
test = "steam_penetration"
kind = "use_day"
applies_to = "vacuum"
source = """CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, \
steam penetration: each day before the first load, as reported"""
confidence = "reported"

[[routine]]
test = "leak"
kind = "calendar_week"
week_starts = 1
applies_to = "vacuum"
source = "Common practice for units that pull a vacuum, no source"
confidence = "common_practice"

[[routine]]
test = "chemical_in_load"
kind = "per_load"
source = """CDC, Guidelines for Infection Control in Dental Health-Care Settings, MMWR 52(RR-17), \
2003, sterilization monitoring: an indicator inside each pack"""
confidence = "read"
'''
