"""Editions: the pages of a month as a whole, kept, checked and compared with the one before."""
