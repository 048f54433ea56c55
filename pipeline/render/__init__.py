"""From measures to pages and letters; only this package imports jinja2."""
