"""What a file looks like, and what is odd about what was read of it: hints and drafts, no more."""
