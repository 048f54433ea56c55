"""One file through the steps of a run, before there is a run: what `try` and `connect` do."""
