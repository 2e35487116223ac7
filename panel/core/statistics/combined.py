"""Several panels that asked the same: one proportion of discriminators for all of them.

The estimate weighs each panel by what its count tells where hardly anybody can tell apart: the
score of the common proportion at guessing is the sum of x/p0 − n (Rao 1948, Proc Camb Phil Soc
44:50–57), so a panel of n weighs n (1 − p0)/p0. With one chance that is the plain total. Weights
from the counts themselves (the usual inverse variances) fail in small panels: a panel in which all
or nobody were right would have variance 0 and outweigh every other. The interval turns the exact
distribution of that sum round, so it covers at least its confidence, however few there are, if
there is one proportion.

Whether there is one: Cochran's Q (1954, Biometrics 10:101–129) and I² (Higgins & Thompson 2002,
Stat Med 21:1539–1558), with variances at the common proportion; with one chance Q is Pearson's
chi-square of the k × 2 table. If panels differ, the mean over such panels: DerSimonian & Laird
1986 (Control Clin Trials 7:177–188) with the interval of Hartung & Knapp 2001 (Stat Med
20:3875–3889), never made narrower than without it (Röver, Knapp & Friede 2015, BMC Med Res Methodol
15:99). Sources from memory.
"""

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, chdtrc, gammaln, stdtrit, xlog1py, xlogy

from panel.core.statistics.combined_results import Combined, Panel
from panel.core.statistics.estimates import discriminators
from panel.core.statistics.inputs import Exact, check_confidence, check_count, check_rule
from panel.core.statistics.results import Estimate, Interval, IntervalMethod
from panel.core.statistics.tails import Floats

HALVINGS = 50
"""Of a range of at most 2: an end is good to the last digits."""


def combine(panels: Sequence[Panel], confidence: Exact) -> Combined:
    """One proportion of discriminators for all panels, and how much they differ.

    ValueError for fewer than two panels: one panel has its own interval. PanelError (input) for an
    impossible count or confidence.
    """
    if len(panels) < 2:
        raise ValueError("there is nothing to combine in fewer than two panels")
    for panel in panels:
        check_count(panel.correct, panel.tasters)
        check_rule(panel.chance, 1)
    level = check_confidence(confidence)
    weights = [panel.tasters * (1 - panel.chance) / panel.chance for panel in panels]
    common = _common(panels, level)
    q, tau, mean = _spread(panels, common.value, level)
    freedom = len(panels) - 1
    return Combined(
        panels=len(panels),
        tasters=sum(panel.tasters for panel in panels),
        weights=tuple(float(weight / sum(weights)) for weight in weights),
        common=common,
        q=q,
        freedom=freedom,
        p_value=chdtrc(freedom, q),
        i_squared=max(0.0, 1 - freedom / q) if q > 0 else 0.0,
        tau_squared=tau,
        mean=mean,
    )


def lowest(panels: Sequence[Panel]) -> Fraction:
    """The smallest common proportion that can be: there nobody is right in the panel whose test is
    hardest to pass by guessing. Below 0: fewer right than guessing gives."""
    return max(-panel.chance / (1 - panel.chance) for panel in panels)


# --- one proportion for all -----------------------------------------------------------------------


def _common(panels: Sequence[Panel], level: Fraction) -> Estimate:
    groups = _by_chance(panels)
    if len(groups) == 1:  # the total is binomial: the interval of a single count
        ((chance, (correct, tasters)),) = groups.items()
        return discriminators(correct, tasters, chance, level)
    score = sum(Fraction(x) / chance - n for chance, (x, n) in groups.items())
    room = sum(n * (1 - chance) / chance for chance, (_, n) in groups.items())
    floor = lowest(panels)
    tail = float((1 - level) / 2)
    reached = _Sum(groups)
    low = _crossing(lambda pd: reached.at_least(pd) > tail, float(floor))
    high = _crossing(lambda pd: reached.at_most(pd) <= tail, float(floor))
    interval = Interval(low, high, float(level), IntervalMethod.WEIGHTED_SUM)
    return Estimate(float(max(floor, score / room)), interval)


def _by_chance(panels: Sequence[Panel]) -> dict[Fraction, tuple[int, int]]:
    """Right and all of every chance: under one proportion such panels are one binomial."""
    groups: dict[Fraction, tuple[int, int]] = defaultdict(lambda: (0, 0))
    for panel in panels:
        x, n = groups[panel.chance]
        groups[panel.chance] = x + panel.correct, n + panel.tasters
    return dict(sorted(groups.items()))


class _Sum:
    """The exact distribution of the sum of x/p0, as whole numbers, at any common proportion."""

    def __init__(self, groups: dict[Fraction, tuple[int, int]]) -> None:
        parts = math.lcm(*(chance.numerator for chance in groups))
        steps = {chance: int(parts / chance) for chance in groups}
        shared = math.gcd(*steps.values())
        self._steps = {chance: step // shared for chance, step in steps.items()}
        self._sizes = {chance: n for chance, (_, n) in groups.items()}
        self._seen = sum(self._steps[chance] * x for chance, (x, _) in groups.items())
        self._last = max(groups, key=lambda chance: self._sizes[chance])

    def at_least(self, pd: float) -> float:
        """The probability of a sum as large as the one seen, or larger."""
        rest = self._of_others(pd)
        step, n = self._steps[self._last], self._sizes[self._last]
        needed = -((np.arange(len(rest)) - self._seen) // step)
        return float((rest * _at_least(needed, n, _right(self._last, pd))).sum())

    def at_most(self, pd: float) -> float:
        """The probability of a sum as small as the one seen, or smaller."""
        rest = self._of_others(pd)
        step, n = self._steps[self._last], self._sizes[self._last]
        allowed = (self._seen - np.arange(len(rest))) // step
        wrong = 1 - _right(self._last, pd)
        return float((rest * _at_least(n - allowed, n, wrong)).sum())

    def _of_others(self, pd: float) -> Floats:
        """The distribution of the sum over all groups but the largest, by its value."""
        whole = np.ones(1)
        for chance, n in self._sizes.items():
            if chance != self._last:
                spread = np.zeros(self._steps[chance] * n + 1)
                spread[:: self._steps[chance]] = _binomial(n, _right(chance, pd))
                whole = np.convolve(whole, spread)
        return whole


def _right(chance: Fraction, pd: float) -> float:
    p0 = float(chance)
    return min(1.0, max(0.0, p0 + pd * (1 - p0)))


def _binomial(n: int, p: float) -> Floats:
    k = np.arange(n + 1)
    ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    return np.asarray(np.exp(ways + xlogy(k, p) + xlog1py(n - k, -p)))


def _at_least(k: NDArray[np.int_], n: int, p: float) -> Floats:
    """P(X >= k), X binomial(n, p), for each k."""
    inside = np.clip(k, 1, n)
    tail = betainc(inside, n - inside + 1, p)
    return np.where(k <= 0, 1.0, np.where(k > n, 0.0, tail))


def _crossing(passed: Callable[[float], bool], floor: float) -> float:
    """Where it begins to hold as the common proportion rises from the floor to 1; else its end."""
    if passed(floor):
        return floor
    below, above = floor, 1.0
    for _ in range(HALVINGS):
        middle = (below + above) / 2
        below, above = (below, middle) if passed(middle) else (middle, above)
    return above


# --- do they differ? ------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Weighted:
    """A weighted mean of the panels' own proportions, and how they lie about it."""

    mean: float
    q: float
    weight: float
    squares: float


def _weighted(values: Floats, variances: Floats) -> _Weighted:
    weight = 1 / variances
    mean = float(weight @ values / weight.sum())
    q = float(weight @ (values - mean) ** 2)
    return _Weighted(mean, q, float(weight.sum()), float((weight**2).sum()))


def _spread(
    panels: Sequence[Panel], common: float, level: Fraction
) -> tuple[float, float, Estimate | None]:
    """Q, tau² and the mean over panels that differ; that is None where everybody was right."""
    n = np.array([panel.tasters for panel in panels], dtype=np.float64)
    p0 = np.array([float(panel.chance) for panel in panels])
    right = np.array([panel.correct for panel in panels]) / n
    pc = p0 + max(0.0, common) * (1 - p0)  # fewer than guessing gives vary as guesses do
    if common >= 1:
        return 0.0, 0.0, None
    values, variances = (right - p0) / (1 - p0), pc * (1 - pc) / n / (1 - p0) ** 2
    one = _weighted(values, variances)
    freedom = len(panels) - 1
    tau = max(0.0, (one.q - freedom) / (one.weight - one.squares / one.weight))
    many = _weighted(values, variances + tau)
    scale = max(1.0, many.q / freedom)
    reach = float(stdtrit(freedom, float((1 + level) / 2))) * math.sqrt(scale / many.weight)
    floor = float(lowest(panels))
    low, high = max(floor, many.mean - reach), min(1.0, max(floor, many.mean + reach))
    interval = Interval(low, high, float(level), IntervalMethod.HARTUNG_KNAPP)
    return one.q, tau, Estimate(max(floor, many.mean), interval)
