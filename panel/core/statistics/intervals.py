"""Intervals of one proportion: Clopper–Pearson (exact) and Wilson (score)."""

from fractions import Fraction

import numpy as np
from scipy.special import betainccinv, betaincinv, ndtri

from panel.core.statistics.inputs import Exact, check_confidence, check_count
from panel.core.statistics.results import Interval, IntervalMethod


def clopper_pearson(correct: int, n: int, confidence: Exact) -> Interval:
    """Two-sided exact interval of a proportion; it covers at least `confidence`.

    Clopper & Pearson 1934, Biometrika 26:404–413, through quantiles of the beta distribution;
    0 where nobody was correct and 1 where everybody was.
    """
    check_count(correct, n)
    level = check_confidence(confidence)
    tail = float((1 - level) / 2)
    low = 0.0 if correct == 0 else betaincinv(correct, n - correct + 1, tail)
    high = 1.0 if correct == n else betainccinv(correct + 1, n - correct, tail)
    return Interval(low, high, float(level), IntervalMethod.CLOPPER_PEARSON)


def wilson(correct: int, n: int, confidence: Exact) -> Interval:
    """Two-sided score interval without continuity correction.

    Wilson 1927, J Am Stat Assoc 22:209–212; method 3 of Newcombe 1998, Stat Med 17:857–872.
    """
    check_count(correct, n)
    level = check_confidence(confidence)
    z = normal_quantile(level)
    p = correct / n
    middle = p + z * z / (2 * n)
    reach = z * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    scale = 1 + z * z / n
    # At 0 and n the formula ends exactly at 0 and 1; rounding must not move it.
    low = 0.0 if correct == 0 else (middle - reach) / scale
    high = 1.0 if correct == n else (middle + reach) / scale
    return Interval(low, high, float(level), IntervalMethod.WILSON)


def normal_quantile(level: Fraction) -> float:
    """z with P(|Z| <= z) = level for a standard normal Z."""
    return -float(ndtri(float((1 - level) / 2)))
