"""Which of several drinks differ? Every pair of mean ranks held against what chance would do.

Fisher's way, for a pair that was named beforehand: apart where two rank sums differ by
LSD = z √(n k (k + 1) / 6). Tukey's way, for all pairs at once: HSD = q √(n k (k + 1) / 12), q the
studentised range of k drinks with infinite degrees of freedom (ISO 8587 gives the first; Basker
1988, Food Technology 42(2):79 tables the second). Both are normal approximations. Trays with some
of the drinks, lost trays and ties enter through the covariance of `friedman.py`, of which these are
the case with all drinks on every tray: drink effects are V⁻ A, their covariance V⁻.
"""

from collections.abc import Sequence
from functools import cache
from itertools import combinations

import numpy as np
from scipy.special import ndtr, ndtri

from panel.core.statistics.friedman import covariance, deviations, trays_of
from panel.core.statistics.inputs import Exact, check_alpha
from panel.core.statistics.rank_results import RankPair, RankPairs
from panel.core.statistics.ranks import Block, checked

_GRID = np.linspace(-9.0, 9.0, 1201)  # of a normal variable; sums over it are good to 1e-12
_DENSITY = np.exp(-(_GRID**2) / 2) / np.sqrt(2 * np.pi) * (_GRID[1] - _GRID[0])


def rank_pairs(blocks: Sequence[Block], alpha: Exact) -> RankPairs:
    """All pairs of drinks. ValueError without blocks or with a block of one drink."""
    drinks = checked(blocks)
    risk = float(check_alpha(alpha))
    trays = trays_of(blocks, drinks)
    matrix = covariance(trays, len(drinks))
    inverse = np.linalg.pinv(matrix, rcond=1e-12, hermitian=True)
    effects = inverse @ (deviations(trays, len(drinks)) / 2)
    means = _mean_ranks(blocks, drinks, trays)
    pairs = []
    for one, other in combinations(range(len(drinks)), 2):
        variance = inverse[one, one] + inverse[other, other] - 2 * inverse[one, other]
        z = float((effects[other] - effects[one]) / np.sqrt(variance)) if variance > 1e-12 else 0.0
        alone = 2 * float(ndtr(-abs(z)))
        together = range_tail(abs(z) * np.sqrt(2), len(drinks))
        apart = means[other] - means[one]
        pairs.append(
            RankPair(
                drinks[one], drinks[other], apart, z, alone, together,
                alone <= risk, together <= risk,
            )
        )  # fmt: skip
    return RankPairs(tuple(pairs), *_distances(blocks, drinks, matrix, risk))


def range_tail(q: float, drinks: int) -> float:
    """P(the range of so many independent standard normal variables >= q)."""
    within = ndtr(_GRID) - ndtr(_GRID - q)
    return float(min(1.0, max(0.0, 1 - drinks * (_DENSITY * within ** (drinks - 1)).sum())))


@cache
def range_quantile(alpha: float, drinks: int) -> float:
    """q with P(range >= q) = alpha, by halving."""
    low, high = 0.0, 20.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if range_tail(middle, drinks) > alpha else (low, middle)
    return (low + high) / 2


def _mean_ranks(
    blocks: Sequence[Block],
    drinks: Sequence[str],
    trays: Sequence[tuple[tuple[int, ...], tuple[int, ...]]],
) -> list[float]:
    sums = [0.0] * len(drinks)
    for seats, ranks in trays:
        for seat, rank in zip(seats, ranks, strict=True):
            sums[seat] += rank / 2
    return [
        total / sum(drink in block for block in blocks)
        for total, drink in zip(sums, drinks, strict=True)
    ]


def _distances(
    blocks: Sequence[Block], drinks: Sequence[str], matrix: np.ndarray, risk: float
) -> tuple[float | None, float | None]:
    """By how much two mean ranks must differ, where one number holds for every pair: V = c (I −
    J/t) and every drink tasted equally often."""
    size = len(drinks)
    scale = float(matrix.trace()) / (size - 1)
    tasted = {sum(drink in block for block in blocks) for drink in drinks}
    even = np.allclose(matrix, scale * (np.eye(size) - 1 / size), rtol=1e-9, atol=1e-9)
    if not even or len(tasted) > 1 or scale <= 0:
        return None, None
    unit = np.sqrt(scale) / tasted.pop()
    return float(-ndtri(risk / 2) * np.sqrt(2) * unit), float(range_quantile(risk, size) * unit)
