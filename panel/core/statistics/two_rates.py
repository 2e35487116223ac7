"""Hits against false alarms: exact tests, their power, and how many tasters are needed.

One side: is the answer in question given more often where it is true? Where each taster gives one
answer, Fisher's exact test (Fisher 1935, The Design of Experiments, chapter II): lots decide how
many trays are of either kind, and given how many gave the answer, every set of tasters is equally
likely to be the one that got the true kind. Where each taster gives both, McNemar's exact test
(McNemar 1947, Psychometrika 12:153-157): among those whose two answers differ, either way round is
as likely. Tails are compared with alpha in integers where floating point cannot decide.
"""

import math
from fractions import Fraction
from functools import lru_cache

import numpy as np
from scipy.special import gammaln

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.statistics.binomial import critical_numbers
from panel.core.statistics.detection_results import Rates, RatesNeeded, RateTest, RateTestKind
from panel.core.statistics.inputs import Exact, check_alpha, check_beta, check_count
from panel.core.statistics.intervals import clopper_pearson, normal_quantile, wilson
from panel.core.statistics.results import Interval, IntervalMethod
from panel.core.statistics.tails import NEAR, Bools, Floats, exact_upper_tail, upper_tail
from panel.core.statistics.two_by_two import newcombe

MOST_TASTERS = 1_000
"""Of one panel: larger ones are not planned for, nor reckoned for a page."""
_EVERY = 150


def fisher_tail(hits: int, targets: int, false_alarms: int, others: int) -> Fraction:
    """P(as many hits or more), given all totals: hypergeometric, exact."""
    given = hits + false_alarms
    ways = sum(
        math.comb(targets, x) * math.comb(others, given - x)
        for x in range(hits, min(targets, given) + 1)
    )
    return Fraction(ways, math.comb(targets + others, given))


def mcnemar_tail(first_only: int, second_only: int) -> Fraction:
    """P(as many hit-only tasters or more), given how many gave two different answers; exact."""
    return Fraction(*exact_upper_tail(first_only, first_only + second_only, Fraction(1, 2)))


def rate_test(counted: Rates, alpha: Exact, confidence: Exact) -> RateTest:
    """Is the hit rate above the false-alarm rate? PanelError (input) for an impossible count."""
    hits, targets, alarms, others = (
        counted.hits,
        counted.targets,
        counted.false_alarms,
        counted.others,
    )
    check_count(hits, targets)
    check_count(alarms, others)
    risk = check_alpha(alpha)
    if counted.first_only is not None and counted.second_only is not None:
        kind, tail = RateTestKind.MCNEMAR, mcnemar_tail(counted.first_only, counted.second_only)
        interval = _paired_interval(counted, confidence)
    else:
        kind, tail = RateTestKind.FISHER, fisher_tail(hits, targets, alarms, others)
        interval = newcombe(hits, targets, alarms, others, confidence)
    return RateTest(
        kind=kind,
        alpha=risk,
        p_value=float(tail),
        significant=tail <= risk,
        hit_rate=hits / targets,
        false_alarm_rate=alarms / others,
        hit_interval=clopper_pearson(hits, targets, confidence),
        false_alarm_interval=clopper_pearson(alarms, others, confidence),
        difference=hits / targets - alarms / others,
        interval=interval,
    )


def _paired_interval(counted: Rates, confidence: Exact) -> Interval:
    """Interval of the difference of two shares of the same tasters.

    Newcombe 1998, Stat Med 17:2635-2650, method 10: the unpaired interval with the correlation of
    the two answers, itself shrunk towards 0 by half a taster (formula from memory).
    """
    n, hits, alarms = counted.targets, counted.hits, counted.false_alarms
    one, two = wilson(hits, n, confidence), wilson(alarms, n, confidence)
    both = hits - (counted.first_only or 0)
    neither = n - both - (counted.first_only or 0) - (counted.second_only or 0)
    cross = both * neither - (counted.first_only or 0) * (counted.second_only or 0)
    shrunk = max(cross - n / 2, 0.0) if cross > 0 else float(cross)
    spread = math.sqrt(hits * (n - hits) * alarms * (n - alarms))
    phi = shrunk / spread if spread else 0.0
    p, q = hits / n, alarms / n

    def reach(a: float, b: float) -> float:
        return math.sqrt(max(0.0, a * a - 2 * phi * a * b + b * b))

    below, above = reach(p - one.low, two.high - q), reach(one.high - p, q - two.low)
    low, high = max(-1.0, p - q - below), min(1.0, p - q + above)
    return Interval(low, high, one.confidence, IntervalMethod.NEWCOMBE)


# --- power ----------------------------------------------------------------------------------------


@lru_cache(maxsize=64)
def deciding_tables(targets: int, others: int, alpha: Fraction) -> Bools:
    """(targets + 1, others + 1): which hits and false alarms Fisher's test calls significant."""
    log = gammaln(np.arange(1.0, targets + others + 2))
    first = log[targets] - log[: targets + 1] - log[targets::-1]
    second = log[others] - log[: others + 1] - log[others::-1]
    given = np.arange(targets + 1)[:, None] + np.arange(others + 1)[None, :]
    whole = log[-1] - log[given] - log[targets + others - given]
    tail: Floats = np.exp(first[:, None] + second[None, :] - whole)
    for hits in range(targets - 1, -1, -1):  # a tail is its own table and the one beyond it
        tail[hits, 1:] += tail[hits + 1, :-1]
    limit = float(alpha)
    decides = tail <= limit
    for x, y in zip(*np.nonzero(np.abs(tail - limit) <= NEAR * limit), strict=True):
        decides[x, y] = fisher_tail(int(x), targets, int(y), others) <= alpha
    return np.asarray(decides)


def power_of_groups(
    targets: int, others: int, hit_rate: float, false_alarm_rate: float, alpha: Exact
) -> float:
    """Exact power of Fisher's test with so many tasters of either kind."""
    if targets < 1 or others < 1:
        return 0.0
    decides = deciding_tables(targets, others, check_alpha(alpha))
    return float(
        binomial_weights(targets, hit_rate) @ decides @ binomial_weights(others, false_alarm_rate)
    )


def power_of_pairs(tasters: int, hit_rate: float, false_alarm_rate: float, alpha: Exact) -> float:
    """Exact power of McNemar's test, if one taster's two answers are independent."""
    only, other = hit_rate * (1 - false_alarm_rate), false_alarm_rate * (1 - hit_rate)
    if tasters < 1 or only + other <= 0:
        return 0.0
    differing = np.arange(1, tasters + 1)
    needed = critical_numbers(differing, Fraction(1, 2), check_alpha(alpha))
    share = Fraction(only / (only + other))
    decides = upper_tail(needed, differing, share)
    return float(binomial_weights(tasters, only + other)[1:] @ decides)


def power_of_rates(
    tasters: int, hit_rate: float, false_alarm_rate: float, alpha: Exact, *, paired: bool
) -> float:
    """Exact power with so many tasters: all of them paired, or in two groups as equal as may be,
    the odd one as often in either."""
    if paired:
        return power_of_pairs(tasters, hit_rate, false_alarm_rate, alpha)
    half, odd = divmod(tasters, 2)
    ways = {(half + odd, half), (half, half + odd)}
    each = [power_of_groups(m, n, hit_rate, false_alarm_rate, alpha) for m, n in ways]
    return sum(each) / len(each)


def can_decide(targets: int, others: int, alpha: Exact, *, paired: bool) -> bool:
    """Whether any count of so many can reach alpha."""
    risk = check_alpha(alpha)
    if paired:
        return targets > 0 and Fraction(1, 2**targets) <= risk
    return min(targets, others) > 0 and Fraction(1, math.comb(targets + others, targets)) <= risk


@lru_cache(maxsize=256)
def tasters_for_rates(
    hit_rate: float, false_alarm_rate: float, alpha: Exact, beta: Exact, *, paired: bool
) -> RatesNeeded:
    """Tasters needed to find such rates at risks alpha and beta, by exact power.

    Tried are all numbers (from 150 on all even ones) up to well past the first that suffices: a
    sixth as many again, and at least 24 more; the power falls back by a tooth, and never that far.
    PanelError "plan-too-large" where more than MOST_TASTERS would be needed.
    """
    target = 1 - float(check_beta(beta))
    roughly = _roughly(hit_rate, false_alarm_rate, alpha, target, paired=paired)
    if roughly > MOST_TASTERS:
        raise _too_large()

    def power(tasters: int) -> float:
        return power_of_rates(tasters, hit_rate, false_alarm_rate, alpha, paired=paired)

    step = 1 if roughly < _EVERY else 2
    start = max(2, step * int(0.8 * roughly / step))
    while start > 2 and power(start) >= target:
        start = max(2, start - 8)
    first, last_short, tasters = None, start - step, start
    while first is None or tasters <= first + max(24, first // 6):
        if tasters > 2 * MOST_TASTERS:
            raise _too_large()
        if power(tasters) < target:
            last_short = tasters
        elif first is None:
            first = tasters
        tasters += step
    holding = max(first, last_short + step)
    if holding > MOST_TASTERS:
        raise _too_large()
    return RatesNeeded(first, holding, tasters - step, power(holding))


def smallest_difference(tasters: int, alpha: Exact, power: Exact, *, paired: bool) -> float | None:
    """The smallest share of people who truly tell that so many tasters find with that power, the
    others saying either answer as often; None where not even all of them would do."""
    wanted = float(power)

    def enough(share: float) -> bool:
        rates = (1 + share) / 2, (1 - share) / 2
        return power_of_rates(tasters, *rates, alpha, paired=paired) >= wanted

    if not enough(1.0):
        return None
    low, high = 0.0, 1.0
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def binomial_weights(n: int, share: float) -> Floats:
    """The probability of each count 0..n at a share in 0..1."""
    k = np.arange(n + 1)
    if share <= 0 or share >= 1:
        return np.asarray((k == (n if share >= 1 else 0)).astype(np.float64))
    ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    return np.asarray(np.exp(ways + k * math.log(share) + (n - k) * math.log1p(-share)))


def _roughly(hit: float, alarm: float, alpha: Exact, target: float, *, paired: bool) -> float:
    """Tasters by the normal curve: only where the search begins."""
    if hit <= alarm:
        return math.inf
    z = normal_quantile(1 - 2 * check_alpha(alpha)) if check_alpha(alpha) < Fraction(1, 2) else 0.0
    reach = z - _lower_quantile(1 - target)
    spread = hit * (1 - hit) + alarm * (1 - alarm)
    return (1 if paired else 2) * spread * (max(reach, 0.5) / (hit - alarm)) ** 2


def _lower_quantile(share: float) -> float:
    level = Fraction(1 - 2 * min(share, 0.499999))
    return -normal_quantile(level)


def _too_large() -> PanelError:
    message = say(
        "No number of tasters up to %(limit)s is sure to be enough to find a difference this "
        "small. Plan for a larger difference, or accept larger risks.",
        limit=MOST_TASTERS,
    )
    return PanelError("plan-too-large", message)
