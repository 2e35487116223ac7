"""Are several drinks alike in rank? Friedman's test, Durbin's, and what lies between them.

A = for each drink the sum over its trays of rank minus mean rank; under no difference each tray's
ranks are shuffled among its drinks, which gives A the covariance V. The statistic is A' V⁻ A, V⁻ a
generalised inverse: Friedman 1937 (J Am Stat Assoc 32:675–701) with all drinks on every tray,
Durbin 1951 (Br J Psychol 4:85–90) with balanced incomplete trays, Benard & van Elteren 1953
(Proc Kon Ned Akad Wet A 56:358–369) with any trays, and the usual correction for ties in all.
So trays that were lost do no harm but to balance. The p-value counts every arrangement where these
are few enough; else it is the tail of chi-square, which by then is close (the tests measure it).
"""

import math
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import permutations

import numpy as np
from scipy.special import gammaincc

from panel.core.statistics.inputs import Exact, check_alpha
from panel.core.statistics.rank_results import RankTest
from panel.core.statistics.ranks import Block, checked, doubled_ranks, spread
from panel.core.statistics.tails import Floats, Ints, at_most

MOST_STEPS = 200_000
"""Arrangements of partial panels that are looked at. Without ties and with all drinks on every
tray it is enough for 3 drinks and 57 tasters, 4 and 14, 5 and 5, 6 and 3, 7 or 8 and 2."""

Seats = tuple[int, ...]  # which drinks a tray has, as indices
Ranks = tuple[int, ...]  # doubled
NEAR = 1e-9  # statistics this close are the same arrangement seen through rounding


def rank_test(blocks: Sequence[Block], alpha: Exact, most_steps: int = MOST_STEPS) -> RankTest:
    """Test that all drinks are alike; ValueError without blocks or with a block of one drink."""
    drinks = checked(blocks)
    risk = check_alpha(alpha)
    trays = trays_of(blocks, drinks)
    statistic, freedom = quadratic(trays, len(drinks))
    tail = _exact_tail(trays, len(drinks), most_steps)
    p = float(gammaincc(freedom / 2, statistic / 2)) if freedom else 1.0
    if tail is not None:
        p = min(1.0, tail)
        significant = at_most(p, risk, lambda: _counted_tail(trays, len(drinks)))
    else:
        significant = p <= risk
    met = Counter(seat for seats, _ in trays for seat in seats)
    sums = [0.0] * len(drinks)
    for seats, ranks in trays:
        for seat, rank in zip(seats, ranks, strict=True):
            sums[seat] += rank / 2
    return RankTest(
        drinks=drinks,
        tasters=len(blocks),
        tasted=tuple(met[seat] for seat in range(len(drinks))),
        sums=tuple(sums),
        complete=all(len(block) == len(drinks) for block in blocks),
        statistic=statistic,
        freedom=freedom,
        p_value=p,
        exact=tail is not None,
        significant=bool(significant),
    )


def trays_of(blocks: Sequence[Block], drinks: Sequence[str]) -> list[tuple[Seats, Ranks]]:
    """Each tray's drinks as indices and their doubled ranks."""
    trays = []
    for block in blocks:
        ranks = doubled_ranks(block)
        seats = tuple(at for at, drink in enumerate(drinks) if drink in block)
        trays.append((seats, tuple(ranks[drinks[seat]] for seat in seats)))
    return trays


def covariance(trays: Sequence[tuple[Seats, Ranks]], drinks: int) -> Floats:
    """V: of the summed ranks, had each tray's ranks been shuffled."""
    matrix = np.zeros((drinks, drinks))
    alike = Counter((seats, tuple(sorted(ranks))) for seats, ranks in trays)
    for (seats, ranks), times in alike.items():
        size = len(seats)
        shared = times * float(spread(ranks)) / (size - 1)
        matrix[np.ix_(seats, seats)] += shared * (size * np.eye(size) - 1)
    return matrix


def deviations(trays: Sequence[tuple[Seats, Ranks]], drinks: int) -> Ints:
    """2 A: for each drink the sum of doubled rank minus doubled mean rank."""
    total = np.zeros(drinks, dtype=np.int64)
    for seats, ranks in trays:
        total[list(seats)] += np.array(ranks) - len(seats) - 1
    return total


def quadratic(trays: Sequence[tuple[Seats, Ranks]], drinks: int) -> tuple[float, int]:
    """The statistic and its degrees of freedom; 0 and 0 where every tray is one tie."""
    matrix = covariance(trays, drinks)
    freedom = int(np.linalg.matrix_rank(matrix, tol=1e-9, hermitian=True))
    if freedom == 0:
        return 0.0, 0
    away = deviations(trays, drinks) / 2
    inverse = np.linalg.pinv(matrix, rcond=1e-12, hermitian=True)
    return float(away @ inverse @ away), freedom


def _exact_tail(trays: Sequence[tuple[Seats, Ranks]], drinks: int, most_steps: int) -> float | None:
    """P(as far or farther), counting every arrangement; None where there are too many."""
    observed = deviations(trays, drinks)
    if all(len(seats) == drinks for seats, _ in trays):
        patterns = tuple(sorted(tuple(sorted(ranks)) for _, ranks in trays))
        known = _all_distances(patterns, most_steps)
        if known is None:
            return None
        distances, chances = known
        return float(chances[distances >= int((observed**2).sum())].sum())
    ended = _walk(tuple((s, tuple(sorted(r))) for s, r in trays), drinks, most_steps)
    if ended is None:
        return None
    states, chances = ended
    inverse = np.linalg.pinv(covariance(trays, drinks), rcond=1e-12, hermitian=True)
    distances = np.einsum("si,ij,sj->s", states, inverse, states)
    least = float(observed @ inverse @ observed)
    return float(chances[distances >= least * (1 - NEAR)].sum())


@lru_cache(maxsize=64)
def _all_distances(patterns: tuple[Ranks, ...], most_steps: int) -> tuple[Ints, Floats] | None:
    """Each attainable sum of squared deviations of complete trays, with its probability."""
    drinks = len(patterns[0])
    everything = tuple(range(drinks))
    ended = _walk(tuple((everything, ranks) for ranks in patterns), drinks, most_steps, alike=True)
    if ended is None:
        return None
    states, chances = ended
    distances, place = np.unique((states**2).sum(axis=1), return_inverse=True)
    return distances, np.bincount(place.ravel(), chances).astype(np.float64)


@lru_cache(maxsize=32)
def _walk(
    trays: tuple[tuple[Seats, Ranks], ...], drinks: int, most_steps: int, *, alike: bool = False
) -> tuple[Ints, Floats] | None:
    """Every attainable 2 A with its probability, tray by tray; None where it takes too long.

    `alike`: all trays have all drinks, so that arrangements that differ in the drinks' names alone
    are taken together and the first tray need not be shuffled.
    """
    states, chances = np.zeros((1, drinks), dtype=np.int64), np.ones(1)
    steps = 0
    base = 2 * sum(len(seats) for seats, _ in trays) + 1
    if drinks * math.log2(base) > 62:
        return None
    weights = base ** np.arange(drinks, dtype=np.int64)
    for number, (seats, ranks) in enumerate(trays):
        moves = {ranks} if alike and number == 0 else set(permutations(ranks))
        steps += len(states) * len(moves)
        if steps + _to_come(len(states) * len(moves), number + 1, len(trays)) > most_steps:
            return None
        change = np.zeros((len(moves), drinks), dtype=np.int64)
        change[:, list(seats)] = np.array(sorted(moves)) - len(seats) - 1
        after = (states[:, None, :] + change[None, :, :]).reshape(-1, drinks)
        if alike:
            after.sort(axis=1)
        _, first, place = np.unique(after @ weights, return_index=True, return_inverse=True)
        split = np.repeat(chances, len(moves)) / len(moves)
        chances = np.bincount(place.ravel(), split).astype(np.float64)
        states = after[first]
    return states, chances


def _to_come(steps: int, done: int, trays: int) -> int:
    """What the trays after this one take at least: states grow no slower than in proportion."""
    return steps * (trays - done) * (trays + done) // (2 * done)


def _counted_tail(trays: Sequence[tuple[Seats, Ranks]], drinks: int) -> tuple[int, int]:
    """The same tail in whole numbers, for a p-value within a hair of its bound."""
    inverse = np.linalg.pinv(covariance(trays, drinks), rcond=1e-12, hermitian=True)
    ways: Counter[tuple[int, ...]] = Counter({(0,) * drinks: 1})
    every = 1
    for seats, ranks in trays:
        moves = list(permutations(rank - len(seats) - 1 for rank in ranks))
        every *= len(moves)
        after: Counter[tuple[int, ...]] = Counter()
        for state, times in ways.items():
            for move in moves:
                reached = list(state)
                for seat, step in zip(seats, move, strict=True):
                    reached[seat] += step
                after[tuple(reached)] += times
        ways = after
    observed = deviations(trays, drinks)
    least = float(observed @ inverse @ observed) * (1 - NEAR)
    far = sum(
        times for state, times in ways.items() if float(np.array(state) @ inverse @ state) >= least
    )
    return Fraction(far, every).as_integer_ratio()
