"""From a clinic's location to bytes; only this package imports fsspec."""
