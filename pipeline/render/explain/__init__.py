"""What stands behind a figure, down to file and line."""
