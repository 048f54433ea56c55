"""What the rules ask of a clinic, each figure with its source."""
