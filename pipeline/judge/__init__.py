"""The verdict on every cycle: what it shows against what its program asks. Nothing is released."""
