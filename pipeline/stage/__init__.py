"""From landed bytes to typed rows, every line accounted for."""
