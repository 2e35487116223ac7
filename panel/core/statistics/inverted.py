"""The interval of d-prime by an exact test, inverted.

A d-prime belongs to the interval if the counts are not too rare under it. Tables (hits, false
alarms) are ordered by their likelihood ratio: how much likelier they are at their own rates than at
that d-prime, wherever the line lies. The p-value is the largest probability, over all places of the
line, of a table as far or farther: exact and unconditional, as Boschloo's and Barnard's tests are
(Barnard 1947, Biometrika 34:123-138; Chan 1998, Stat Med 17:1403-1413 for tables held against any
fixed difference). So the interval covers at least its confidence; the tests measure it over all
tables. Ordering by profile likelihood alone, with its usual bound, would cover 85 % at six trays of
either kind.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import gammaln, xlogy

from panel.core.statistics.detection_results import Rates
from panel.core.statistics.inputs import Exact, check_confidence
from panel.core.statistics.lines import Line, answers
from panel.core.statistics.tails import Floats

MOST_TOGETHER = 240
"""Trays up to which it is fast enough for a page."""
FURTHEST = 12.0
"""A d-prime beyond this is without bound."""

_PLACES = 121  # of the line, tried at each d-prime
_REACH = 4.0  # how far beyond the two drinks the line is tried: there a rate is all but 0 or 1
_HALVINGS = 16  # of the twelve: an end is good to 0.0002
_KEPT = 0.98  # of the risk: the rest is for what lies between the places tried
_FLOOR = 1e-300
_NEAR = 1e-9  # equal distances differ in the last digits


def inverted(
    line: Line, counted: Rates, value: float | None, confidence: Exact
) -> tuple[float | None, float | None]:
    """The two ends; None where there is no bound. A same-different task has none below 0.

    value: the estimate, from which the ends are sought; None for one without bound.
    """
    risk = float(1 - check_confidence(confidence))
    tables = _Tables(line, counted.targets, counted.others)
    if value is None:
        more = counted.hits * counted.others > counted.false_alarms * counted.targets
        value = FURTHEST if more else -FURTHEST
    inside = min(max(value, -FURTHEST), FURTHEST)

    def belongs(d: float) -> bool:
        return tables.p_value(d, counted.hits, counted.false_alarms) > risk * _KEPT

    high = _end(belongs, inside, FURTHEST)
    if line == "same-different":
        low = _end(belongs, inside, 0.0)
        return 0.0 if low is None else low, high
    return _end(belongs, inside, -FURTHEST), high


def _end(belongs: Callable[[float], bool], inside: float, outside: float) -> float | None:
    """Where d-primes cease to belong; None if the farthest does."""
    if belongs(outside):
        return None
    for _ in range(_HALVINGS):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if belongs(middle) else (inside, middle)
    return outside


@dataclass(frozen=True)
class _Tables:
    """All tables of so many trays of either kind."""

    line: Line
    targets: int
    others: int

    @cached_property
    def _own(self) -> Floats:
        """Each table's log-likelihood at its own rates, without binomial coefficients."""
        return np.asarray(_at_own(self.targets)[:, None] + _at_own(self.others)[None, :])

    def p_value(self, d: float, hits: int, false_alarms: int) -> float:
        """The largest probability of a table as far from this d-prime as the one counted."""
        first, second = self._log_likelihoods(d)
        far = self._own - _greatest_sum(first, second)
        as_far = (far >= far[hits, false_alarms] - _NEAR).astype(np.float64)
        ways = np.exp(first + _log_ways(self.targets)), np.exp(second + _log_ways(self.others))
        return float(((as_far.T @ ways[0]) * ways[1]).sum(axis=0).max())

    def _log_likelihoods(self, d: float) -> tuple[Floats, Floats]:
        """(targets + 1, places) of the hits and (others + 1, places) of the false alarms."""
        reach = _REACH + abs(d) / 2
        places = np.linspace(-reach, reach, _PLACES)
        if self.line == "same-different":
            places = np.linspace(0.02, 5.0 + d, _PLACES)
        hit, miss, alarm, quiet = (
            np.log(np.maximum(share, _FLOOR)) for share in answers(self.line, d, places)
        )
        x = np.arange(self.targets + 1)[:, None]
        y = np.arange(self.others + 1)[:, None]
        return (
            np.asarray(x * hit + (self.targets - x) * miss),
            np.asarray(y * alarm + (self.others - y) * quiet),
        )


def _greatest_sum(first: Floats, second: Floats) -> Floats:
    """Of each pair of rows the greatest sum over the columns."""
    return np.stack([(row + second).max(axis=1) for row in first])


def _at_own(n: int) -> Floats:
    k = np.arange(n + 1)
    return np.asarray(xlogy(k, k / n) + xlogy(n - k, 1 - k / n))


def _log_ways(n: int) -> Floats:
    k = np.arange(n + 1)[:, None]
    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1))
