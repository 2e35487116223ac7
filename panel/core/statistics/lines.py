"""The two rules by which answers come from perceptions, as functions of d-prime and the line.

Formulas and sources stand at the top of `sensitivity`.
"""

import math
from typing import Literal

import numpy as np
from scipy.special import ndtr

from panel.core.statistics.tails import Floats

Line = Literal["yes-no", "same-different"]
"""By which rule answers come from perceptions."""


def different(d: Floats, tau: Floats) -> tuple[Floats, Floats]:
    """How often a different pair and a same pair are called different, element by element."""
    root = math.sqrt(2)
    hit = ndtr((d - tau) / root) + ndtr((-d - tau) / root)
    return np.asarray(hit), np.asarray(2 * ndtr(-tau / root))


def answers(line: Line, d: float, places: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Hits, misses, false alarms and correct rejections, each as a share, at each place of the
    line (c of yes-no, tau of same-different)."""
    if line == "yes-no":
        return (
            np.asarray(ndtr(d / 2 - places)),
            np.asarray(ndtr(places - d / 2)),
            np.asarray(ndtr(-d / 2 - places)),
            np.asarray(ndtr(places + d / 2)),
        )
    root = math.sqrt(2)
    hit, alarm = different(np.array(d), places)
    miss = ndtr((places - d) / root) - ndtr((-places - d) / root)
    return hit, np.asarray(np.maximum(miss, 0.0)), alarm, 1 - alarm
