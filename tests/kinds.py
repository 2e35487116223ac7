"""The methods by kind, for tests that go over those of one kind."""

from panel.core.methods import METHODS, Detection, ForcedChoice

FORCED = [name for name, one in METHODS.items() if isinstance(one, ForcedChoice)]
"""Right answers are counted against guessing."""

DETECTION = [name for name, one in METHODS.items() if isinstance(one, Detection)]
"""Hits are held against false alarms."""

OF_TWO = [name for name, one in METHODS.items() if one.most_beers == 2]
"""Two beers, so that a plan needs nothing but its method."""
