"""Position effect: do tasters favour a place on the tray, whatever stands there?

The test. Each possible answer (a cup, or a pair of cups) is counted over all counted ballots and
held against what its count would be without a favoured place: if the share s of right answers is
as observed, a taster gives each right answer of their tray with equal chance, s in all, and each
wrong one likewise, 1 − s in all; that is added up over the orders that were really tasted. The
distance is Pearson's chi-square; its p-value is exact under the multinomial distribution with
those mean chances where the possible counts are few enough to try, else the chi-square tail.

Why it does not cry wolf. Tasters with different trays have different chances p_i, and the spread
of their summed counts, the sum of diag(p_i) − p_i p_i', is never more than that of a multinomial
with the mean chances; so the real risk of a false alarm is at most the nominal one (the tests
measure it). It says nothing against a finding: the orders are balanced, so a favoured place cannot
make guesses right more often. It does make a panel weaker, which people should know.
"""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from panel.core.allocation.balance import LIMIT, chi_square_tail
from panel.core.methods import ForcedChoice, forced_choice
from panel.core.names import Outcome
from panel.core.nose_first import deciding
from panel.core.outcomes import Judged
from panel.core.plan import Plan

MOST_TRIED = 20_000  # possible counts that are tried one by one: a fraction of a second


@dataclass(frozen=True)
class PlaceChoice:
    """An answer as positions from 1, how often it was given, and how often it would be if even."""

    positions: tuple[int, ...]
    chosen: int
    expected: float


@dataclass(frozen=True)
class PositionEffect:
    """How often each place was chosen, over `ballots`. `p` is the probability of as uneven."""

    ballots: int
    choices: tuple[PlaceChoice, ...]
    p: float

    @property
    def favoured(self) -> PlaceChoice | None:
        """The place that stands out most, None unless the p-value is below the usual limit."""
        if self.p >= LIMIT:
            return None
        return max(self.choices, key=lambda choice: choice.chosen - choice.expected)


def position_effect(plan: Plan, ballots: Iterable[Judged]) -> PositionEffect:
    """The position effect among ballots of one plan; declared "no preference" is left out."""
    method = forced_choice(plan.method)
    chose = tuple(judged for judged in ballots if judged.picked)
    ways = _ways(method, plan)
    counts = Counter(_one_name(judged.picked, ways) for judged in chose)
    expected = _expected(method, plan, chose, ways)
    observed = tuple(counts[way] for way in ways)
    choices = tuple(map(PlaceChoice, ways, observed, expected))
    return PositionEffect(len(chose), choices, _p_value(observed, expected))


def one_answer(plan: Plan, picked: tuple[int, ...]) -> tuple[int, ...]:
    """The positions picked, under the one name of all picks that say the same: who puts two of
    four cups together has put the other two together as well."""
    return _one_name(picked, _ways(forced_choice(plan.method), plan))


def _ways(method: ForcedChoice, plan: Plan) -> tuple[tuple[int, ...], ...]:
    """The possible answers; two answers that say the same (one pair, and so the other) are one."""
    question = deciding(method, plan)
    ways = tuple(combinations(question.positions, question.pick))
    if 2 * question.pick != len(question.positions) or not _names_the_rest_too(method, plan, ways):
        return ways
    return tuple(way for way in ways if question.positions[0] in way)


def _names_the_rest_too(method: ForcedChoice, plan: Plan, ways: Iterable[tuple[int, ...]]) -> bool:
    positions = set(deciding(method, plan).positions)
    return all(
        method.judge(plan, order, way)
        is method.judge(plan, order, tuple(sorted(positions - set(way))))
        for order in method.orders(plan)
        for way in ways
    )


def _one_name(picked: tuple[int, ...], ways: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    if picked in ways:
        return picked
    return next(way for way in ways if not set(way) & set(picked))


def _expected(
    method: ForcedChoice, plan: Plan, chose: Sequence[Judged], ways: Sequence[tuple[int, ...]]
) -> tuple[float, ...]:
    if not chose:
        return (0.0,) * len(ways)
    share = sum(judged.outcome is Outcome.RIGHT for judged in chose) / len(chose)
    expected = [0.0] * len(ways)
    for order, trays in Counter(judged.order for judged in chose).items():
        right = [method.judge(plan, order, way) is Outcome.RIGHT for way in ways]
        hits = sum(right)
        for place, hit in enumerate(right):
            chance = share / hits if hit else (1 - share) / (len(ways) - hits)
            expected[place] += trays * chance
    return tuple(expected)


def _p_value(observed: Sequence[int], expected: Sequence[float]) -> float:
    possible = [pair for pair in zip(observed, expected, strict=True) if pair[1] > 0]
    ballots = sum(observed)
    if ballots == 0 or len(possible) < 2:
        return 1.0
    counts, means = zip(*possible, strict=True)
    statistic = _chi_square(counts, means)
    if math.comb(ballots + len(counts) - 1, len(counts) - 1) > MOST_TRIED:
        return chi_square_tail(statistic, len(counts) - 1)
    near = statistic * (1 - 1e-9)  # equal distances differ in the last digits
    return min(
        1.0,
        sum(
            _multinomial(split, means)
            for split in _splits(ballots, len(counts))
            if _chi_square(split, means) >= near
        ),
    )


def _chi_square(counts: Sequence[int], means: Sequence[float]) -> float:
    pairs = zip(counts, means, strict=True)
    return sum((count - mean) ** 2 / mean for count, mean in pairs)


def _multinomial(counts: Sequence[int], means: Sequence[float]) -> float:
    total = sum(counts)
    logarithm = math.lgamma(total + 1)
    for count, mean in zip(counts, means, strict=True):
        logarithm += count * math.log(mean / total) - math.lgamma(count + 1)
    return math.exp(logarithm)


def _splits(total: int, parts: int) -> Iterator[tuple[int, ...]]:
    """Every way to split a number into so many parts, zeros allowed."""
    if parts == 1:
        yield (total,)
        return
    for first in range(total + 1):
        for rest in _splits(total - first, parts - 1):
            yield (first, *rest)
