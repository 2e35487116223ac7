"""What is still missing before a comparison can be sealed.

Sealing is done once, so nothing here may be left to luck: what blocks must be mended; what is
advice is said and may stand.
"""

from datetime import datetime

from panel.core.comparison import Comparison
from panel.core.readiness.obstacle import Obstacle
from panel.core.readiness.plan import of_method, of_plan
from panel.core.readiness.question import of_beers, of_question, of_words
from panel.core.readiness.serving import of_serving, of_sittings


def readiness(comparison: Comparison, now: datetime) -> tuple[Obstacle, ...]:
    """Everything that stands before sealing, blocking things first. `now` is UTC."""
    found = [
        *of_question(comparison),
        *of_beers(comparison),
        *of_plan(comparison),
        *of_method(comparison),
        *of_serving(comparison),
        *of_sittings(comparison, now),
        *of_words(comparison),
    ]
    return tuple(sorted(found, key=lambda obstacle: not obstacle.blocking))


def can_seal(obstacles: tuple[Obstacle, ...]) -> bool:
    """Whether nothing blocks."""
    return not any(obstacle.blocking for obstacle in obstacles)


__all__ = ["Obstacle", "can_seal", "readiness"]
