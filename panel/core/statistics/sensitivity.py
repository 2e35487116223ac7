"""d-prime from hits and false alarms: how people with a line in their heads answer.

Perceptions of the two drinks are normal with unit variance and means d-prime apart; F is the
normal distribution function.

Yes-no (A-not A): a cup is called A where what is perceived lies on A's side of a line. Hit rate
F(z_h), false-alarm rate F(z_f): d = z_h - z_f, and the line lies c = -(z_h + z_f)/2 from the middle
(Green & Swets 1966; Macmillan & Creelman 2005, from memory).

Same-different (differencing rule): a pair is called different where the two perceptions lie tau or
more apart. P(different | same) = 2 F(-tau/√2), P(different | different) = F((d - tau)/√2) +
F((-d - tau)/√2) (Macmillan, Kaplan & Creelman 1977; Ennis, Palen & Mullen 1988, from memory).

A rate of 0 or 1 leaves d-prime without a bound on one side and the interval says so: no half taster
is added. Intervals: where each taster gave one answer, an exact test inverted (`inverted`). Where
the same tasters gave both, and for very large panels, from the exact intervals of both rates
together, each at half the risk, which holds however the two answers hang together (Bonferroni).
"""

import math

import numpy as np
from scipy.special import ndtr, ndtri

from panel.core.statistics.detection_results import Rates, Sensitivity
from panel.core.statistics.inputs import Exact, check_confidence
from panel.core.statistics.intervals import clopper_pearson
from panel.core.statistics.inverted import FURTHEST, MOST_TOGETHER, inverted
from panel.core.statistics.lines import Line, different
from panel.core.statistics.results import DPrimeEstimate, DPrimeInterval, IntervalMethod

BEST_TAU = math.sqrt(2)
"""The tau that loses fewest answers where drinks are hardly apart: both kinds of pair are equally
likely at (2/d) arcosh(exp(d²/4)), which goes to √2. It calls 31.7 % of the same pairs different."""


def rates_at(line: Line, d_prime: float, place: float | None = None) -> tuple[float, float]:
    """Hit and false-alarm rate at a d-prime (0 or above) and a line; by default the usual one.

    place: the criterion c of yes-no (usual: 0, in the middle), tau of same-different (BEST_TAU).
    """
    if line == "yes-no":
        middle = 0.0 if place is None else place
        return float(ndtr(d_prime / 2 - middle)), float(ndtr(-d_prime / 2 - middle))
    tau = BEST_TAU if place is None else place
    hit, alarm = different(np.array(d_prime), np.array(tau))
    return float(hit), float(alarm)


def distance_of(line: Line, difference: float) -> float | None:
    """The d-prime at which hits exceed false alarms by so much with the usual line.

    None where none does: 1, or more than a same-different task with that line can reach.
    """
    low, high = 0.0, FURTHEST

    def reached(d: float) -> float:
        hit, alarm = rates_at(line, d)
        return hit - alarm

    if reached(high) < difference or difference >= 1:
        return None
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if reached(middle) < difference else (low, middle)
    return (low + high) / 2


def sensitivity_of(line: Line, counted: Rates, confidence: Exact) -> Sensitivity:
    """d-prime with its interval, and the line."""
    check_confidence(confidence)
    value, place = _estimate(line, counted)
    together = counted.targets + counted.others
    if counted.paired or together > MOST_TOGETHER:
        interval = _from_both_rates(line, counted, confidence)
    else:
        low, high = inverted(line, counted, value, confidence)
        level = float(check_confidence(confidence))
        interval = DPrimeInterval(low, high, level, IntervalMethod.INVERTED)
    return Sensitivity(DPrimeEstimate(value, interval), place)


# --- estimates ------------------------------------------------------------------------------------


def _estimate(line: Line, counted: Rates) -> tuple[float | None, float | None]:
    """d-prime (None without bound) and the line (None likewise)."""
    hit, alarm = counted.hits / counted.targets, counted.false_alarms / counted.others
    if line == "yes-no":
        if hit == alarm:
            return 0.0, _finite(0.0 - float(ndtri(hit)))
        d = _finite(float(ndtri(hit) - ndtri(alarm)))
        return d, None if d is None else 0.0 - float(ndtri(hit) + ndtri(alarm)) / 2
    if hit <= alarm:  # pairs that differ are not called different more often: nothing is told apart
        pooled = (counted.hits + counted.false_alarms) / (counted.targets + counted.others)
        return 0.0, _tau(pooled)
    tau = _tau(alarm)
    if hit == 1 or tau is None:
        return None, tau
    return _apart(hit, tau), tau


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None


def _tau(alarm: float) -> float | None:
    """The tau that calls this share of same pairs different; None where it calls none so."""
    return _finite(0.0 - math.sqrt(2) * float(ndtri(alarm / 2)))


def _apart(hit: float, tau: float) -> float | None:
    """The d-prime at which this share of different pairs is called different; 0 where fewer would
    be already without a difference, None where it has no bound."""
    low, high = 0.0, tau + 3 * FURTHEST
    if hit >= 1:
        return None

    def called(d: float) -> float:
        return float(ndtr((d - tau) / math.sqrt(2)) + ndtr((-d - tau) / math.sqrt(2)))

    if called(0.0) >= hit:
        return 0.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if called(middle) < hit else (low, middle)
    return (low + high) / 2


# --- intervals ------------------------------------------------------------------------------------


def _from_both_rates(line: Line, counted: Rates, confidence: Exact) -> DPrimeInterval:
    """From the exact intervals of both rates, each at half the risk."""
    level = check_confidence(confidence)
    each = 1 - (1 - level) / 2
    hit = clopper_pearson(counted.hits, counted.targets, each)
    alarm = clopper_pearson(counted.false_alarms, counted.others, each)
    if line == "yes-no":
        low = _finite(float(ndtri(hit.low) - ndtri(alarm.high)))
        high = _finite(float(ndtri(hit.high) - ndtri(alarm.low)))
    else:
        strict, loose = _tau(alarm.high), _tau(alarm.low)
        low = 0.0 if strict is None else _apart(hit.low, strict)
        high = None if loose is None else _apart(hit.high, loose)
    return DPrimeInterval(low, high, float(level), IntervalMethod.BOTH_RATES)
