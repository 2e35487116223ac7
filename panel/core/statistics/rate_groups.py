"""Two groups of tasters with hits and false alarms each: does one tell the drinks better apart?

What is compared is hit rate minus false-alarm rate. The test is exact, given how many of either
kind of tray the two groups had and how many answers of each sort were given in all: where nobody's
answer depends on the group, every way of dealing the answers out is as likely (a randomisation
test: Fisher 1935, The Design of Experiments, chapter III). Where tasters gave both answers, whole
tasters are dealt out. Two-sided: every deal whose difference is as large or larger counts.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from panel.core.statistics.detection_results import Rates
from panel.core.statistics.inputs import Exact
from panel.core.statistics.results import Interval, IntervalMethod, Plain
from panel.core.statistics.two_rates import rate_test


@dataclass(frozen=True)
class RatesBetween(Plain):
    """The first group's hit rate minus false-alarm rate, minus the second's; its interval from the
    two groups' own (Zou & Donner 2008, Stat Med 27:1693-1702, from memory); the exact p-value."""

    difference: float
    interval: Interval
    p_value: float


def rates_between(first: Rates, second: Rates, confidence: Exact) -> RatesBetween:
    """How the two groups differ. PanelError (input) for an impossible count."""
    half = Fraction(1, 2)  # the tests' own verdicts are not looked at
    one, two = rate_test(first, half, confidence), rate_test(second, half, confidence)
    difference = one.difference - two.difference
    below = math.hypot(one.difference - one.interval.low, two.interval.high - two.difference)
    above = math.hypot(one.interval.high - one.difference, two.difference - two.interval.low)
    interval = Interval(
        max(-2.0, difference - below),
        min(2.0, difference + above),
        one.interval.confidence,
        IntervalMethod.NEWCOMBE,
    )
    return RatesBetween(difference, interval, _p_value(first, second))


def _p_value(first: Rates, second: Rates) -> float:
    observed = abs(_difference(first, first.hits, first.false_alarms, second))
    deals = _paired_deals(first, second) if first.paired else _deals(first, second)
    as_far = whole = 0
    for hits, alarms, ways in deals:
        whole += ways
        if abs(_difference(first, hits, alarms, second)) >= observed:
            as_far += ways
    return as_far / whole


def _difference(first: Rates, hits: int, alarms: int, second: Rates) -> int:
    """The difference between the groups if the first had so many hits and false alarms of all, in
    parts of their common denominator."""
    all_hits, all_alarms = first.hits + second.hits, first.false_alarms + second.false_alarms
    parts = math.lcm(first.targets, first.others, second.targets, second.others)
    return (
        hits * (parts // first.targets)
        - alarms * (parts // first.others)
        - (all_hits - hits) * (parts // second.targets)
        + (all_alarms - alarms) * (parts // second.others)
    )


def _deals(first: Rates, second: Rates) -> Iterator[tuple[int, int, int]]:
    """Hits and false alarms of the first group in every deal, and in how many ways it comes."""
    hits = list(_drawn(first.targets, second.targets, first.hits + second.hits))
    alarms = list(_drawn(first.others, second.others, first.false_alarms + second.false_alarms))
    for x, of_x in hits:
        for y, of_y in alarms:
            yield x, y, of_x * of_y


def _drawn(n: int, m: int, total: int) -> Iterator[tuple[int, int]]:
    for count in range(max(0, total - m), min(n, total) + 1):
        yield count, math.comb(n, count) * math.comb(m, total - count)


def _paired_deals(first: Rates, second: Rates) -> Iterator[tuple[int, int, int]]:
    """The same, by whole tasters: only those whose two answers differ move the difference."""
    only = (first.first_only or 0) + (second.first_only or 0)
    other = (first.second_only or 0) + (second.second_only or 0)
    both = first.hits + second.hits - only
    rest = first.targets + second.targets - only - other - both
    for a, of_a in ((k, math.comb(only, k)) for k in range(min(only, first.targets) + 1)):
        for b, of_b in ((k, math.comb(other, k)) for k in range(min(other, first.targets - a) + 1)):
            left = first.targets - a - b
            ways = of_a * of_b * math.comb(both + rest, left)
            if ways:
                # those who said the same twice give as many hits as false alarms, whoever they are
                yield a, b, ways
