"""What every layer above may use, and what depends on nothing of ours."""
