"""Steam and what follows from it; knows nothing of files and tables."""
