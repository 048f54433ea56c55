"""Text as it stands in HTML and SVG."""

from functools import lru_cache
from html import escape as escaped

escape = lru_cache(maxsize=1 << 14)(escaped)
"""Kept a while, because days, states, figures and names come again and again on pages."""
