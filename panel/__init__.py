"""Panel: plans, draws, prints, serves, counts and publishes an honest difference test."""

__version__ = "0.1.0"
