"""Findings: what needs a person, one module a group of kinds, each from tables and signals."""
