"""What is still missing before a comparison can be sealed.

Sealing is done once, so nothing here may be left to luck: what blocks must be mended; what is
advice is said and may stand. Words that would tell the blinded are `core.leaks`' business.
"""

from datetime import datetime

from panel.core.comparison import Comparison
from panel.core.readiness.card import of_card
from panel.core.readiness.obstacle import Obstacle
from panel.core.readiness.plan import of_method, of_plan
from panel.core.readiness.question import of_beers, of_question
from panel.core.readiness.serving import of_serving, of_sittings
from panel.core.readiness.smell import of_smell


def obstacles(comparison: Comparison, now: datetime | None = None) -> tuple[Obstacle, ...]:
    """Everything that stands before sealing, blocking things first.

    now: UTC; with it, sittings whose date has passed are named.
    """
    found = [
        *of_question(comparison),
        *of_beers(comparison),
        *of_plan(comparison),
        *of_method(comparison),
        *of_serving(comparison),
        *of_smell(comparison),
        *of_card(comparison),
        *of_sittings(comparison, now),
    ]
    return tuple(sorted(found, key=lambda obstacle: not obstacle.blocking))


__all__ = ["Obstacle", "obstacles"]
