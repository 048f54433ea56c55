"""What a group declares: its network, registers and feeds, read once into frozen objects."""
