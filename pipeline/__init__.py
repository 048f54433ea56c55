"""holdtime: the batch pipeline behind the command of the same name."""

__version__ = "0.1.0"
