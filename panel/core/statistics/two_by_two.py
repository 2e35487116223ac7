"""Two groups of tasters compared: informed with blinded, or one sitting with another."""

import math

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.statistics.boschloo import boschloo_p_value
from panel.core.statistics.inputs import Exact, check_count
from panel.core.statistics.intervals import wilson
from panel.core.statistics.results import Interval, IntervalMethod, TwoByTwo

MOST_TOGETHER = 10_000  # both groups together; beyond it the exact test takes too long for a page


def compare_groups(
    correct_1: int, n_1: int, correct_2: int, n_2: int, confidence: Exact
) -> TwoByTwo:
    """First share minus second, Newcombe's interval, and Boschloo's exact two-sided p-value.

    PanelError (input) for an empty group, an impossible count, or over 10,000 tasters together.
    """
    interval = newcombe(correct_1, n_1, correct_2, n_2, confidence)
    if n_1 + n_2 > MOST_TOGETHER:
        message = say(
            "At most %(limit)s tasters together can be compared; there are %(tasters)s.",
            limit=MOST_TOGETHER,
            tasters=n_1 + n_2,
        )
        raise PanelError("groups-too-large", message, field="tasters")
    p_value = boschloo_p_value(correct_1, n_1, correct_2, n_2)
    return TwoByTwo(correct_1 / n_1 - correct_2 / n_2, interval, p_value)


def newcombe(correct_1: int, n_1: int, correct_2: int, n_2: int, confidence: Exact) -> Interval:
    """Interval of the difference of two shares, first minus second, from their Wilson limits.

    Newcombe 1998, Stat Med 17:873–890, method 10 (hybrid score, no continuity correction).
    """
    check_count(correct_1, n_1)
    check_count(correct_2, n_2)
    p_1, p_2 = correct_1 / n_1, correct_2 / n_2
    one, two = wilson(correct_1, n_1, confidence), wilson(correct_2, n_2, confidence)
    difference = p_1 - p_2
    below = math.sqrt((p_1 - one.low) ** 2 + (two.high - p_2) ** 2)
    above = math.sqrt((one.high - p_1) ** 2 + (p_2 - two.low) ** 2)
    method = IntervalMethod.NEWCOMBE
    return Interval(difference - below, difference + above, one.confidence, method)
