"""Boschloo's exact test of two proportions, two-sided.

Boschloo 1970, Statistica Neerlandica 24:1–9. Tables are ordered by Fisher's one-sided p-value; the
p-value is the largest probability, over every common proportion p, of a table at least as extreme.
Two-sided: twice the smaller of the two one-sided p-values, at most 1.

Ties between tables are decided in integers, like the ties of a binomial tail with alpha.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from scipy.special import gammaln

from panel.core.statistics.tails import NEAR, Floats, Ints, at_most

_MOST_POINTS = 4000  # of the common proportion; see _largest
_CELLS = 2_000_000  # largest matrix held at a time, 16 MB


def boschloo_p_value(correct_1: int, n_1: int, correct_2: int, n_2: int) -> float:
    """Two-sided exact p-value of correct_1 of n_1 against correct_2 of n_2; counts as checked."""
    more = _one_sided(correct_1, n_1, correct_2, n_2)
    fewer = _one_sided(correct_2, n_2, correct_1, n_1)
    return min(1.0, 2 * min(more, fewer))


def _one_sided(correct_1: int, n_1: int, correct_2: int, n_2: int) -> float:
    """One-sided p-value: is the first proportion the larger one?"""
    ordering = _FisherOrdering(n_1, n_2)
    return _largest(n_1, n_2, ordering.boundary(correct_1, correct_2))


@dataclass(frozen=True)
class _Tail:
    """Fisher's one-sided p-value of a table, and what is left of 1, both relatively precise."""

    value: float
    rest: float


class _FisherOrdering:
    """Tables (x_1 of n_1, x_2 of n_2) ordered by Fisher's p-value P(H >= x_1), H hypergeometric.

    The p-value falls as x_1 grows and rises as x_2 grows (a coupling argument), so the tables at
    least as extreme as a given one are x_2 <= b(x_1) with a b that never falls.
    """

    def __init__(self, n_1: int, n_2: int) -> None:
        self.n_1, self.n_2 = n_1, n_2
        self._log_factorial: Floats = gammaln(np.arange(1.0, n_1 + n_2 + 2))

    def boundary(self, correct_1: int, correct_2: int) -> Ints:
        """b(x_1) for x_1 = 0..n_1: the largest x_2 at least as extreme, −1 where none is."""
        observed = self._tail(correct_1, correct_2)
        edge = -1
        edges = []
        for x_1 in range(self.n_1 + 1):
            while edge < self.n_2 and self._as_extreme(
                (x_1, edge + 1), (correct_1, correct_2), observed
            ):
                edge += 1
            edges.append(edge)
        return np.array(edges)

    def _as_extreme(self, table: tuple[int, int], other: tuple[int, int], tail: _Tail) -> bool:
        """Is Fisher's p-value of the table at most that of the other, whose tail is given?

        Compared on the smaller side of 1/2: near 1 every table would look tied and go to integers.
        """
        mine = self._tail(*table)
        near, far = (mine.value, tail.value) if tail.value <= 0.5 else (tail.rest, mine.rest)
        if abs(near - far) > NEAR * far:
            return near < far
        if table == other:
            return True
        bound = Fraction(*self._exact(*other))
        return at_most(float(bound), bound, lambda: self._exact(*table))

    def _tail(self, x_1: int, x_2: int) -> _Tail:
        drawn = x_1 + x_2
        low, high = max(0, drawn - self.n_2), min(self.n_1, drawn)
        k = np.arange(low, high + 1)
        terms = np.exp(
            self._log_choose(self.n_1, k)
            + self._log_choose(self.n_2, drawn - k)
            - self._log_choose(self.n_1 + self.n_2, np.array(drawn))
        )
        return _Tail(float(terms[x_1 - low :].sum()), float(terms[: x_1 - low].sum()))

    def _log_choose(self, n: int, k: Ints) -> Floats:
        table = self._log_factorial
        return np.asarray(table[n] - table[k] - table[n - k])

    def _exact(self, x_1: int, x_2: int) -> tuple[int, int]:
        """P(H >= x_1) as numerator and denominator."""
        drawn = x_1 + x_2
        term = math.comb(self.n_1, x_1) * math.comb(self.n_2, x_2)
        total = 0
        for k in range(x_1, min(self.n_1, drawn) + 1):
            total += term
            term = term * (self.n_1 - k) * (drawn - k)
            term //= (k + 1) * (self.n_2 - drawn + k + 1)
        return total, math.comb(self.n_1 + self.n_2, drawn)


def _largest(n_1: int, n_2: int, edges: Ints) -> float:
    """Largest probability of the tables x_2 <= edges[x_1] over the common proportion p.

    With p = (1 − cos θ)/2 that probability is a trigonometric polynomial of degree n_1 + n_2 in θ.
    On a grid of four points a degree no bump can hide (by Bernstein's inequality the grid sees at
    least 92 % of the maximum); the best bumps are then zoomed into. Past 1,000 tasters the grid
    stays at 4,000 points, still far finer than the standard deviation of the counts.
    """
    size = min(4 * (n_1 + n_2), _MOST_POINTS)
    step = math.pi / size
    theta = np.linspace(0.0, math.pi, size + 1)
    height = _probability(theta, n_1, n_2, edges)
    best = float(height.max())
    padded = np.concatenate(([-1.0], height, [-1.0]))
    peak = (height >= padded[:-2]) & (height >= padded[2:]) & (height >= 0.92 * best)
    centres = theta[peak]
    offsets = np.linspace(-1.0, 1.0, 9)
    # Each round keeps the best of nine points: 12 quarterings leave a ten-millionth of a step.
    for _ in range(12):
        points = np.clip(centres[:, None] + step * offsets, 0.0, math.pi)
        heights = _probability(points.ravel(), n_1, n_2, edges).reshape(points.shape)
        centres = points[np.arange(len(points)), heights.argmax(axis=1)]
        best = max(best, float(heights.max()))
        step /= 4
    return min(1.0, best)


def _probability(theta: Floats, n_1: int, n_2: int, edges: Ints) -> Floats:
    """Probability of the tables x_2 <= edges[x_1] at each p = (1 − cos θ)/2."""
    rows = max(1, _CELLS // (max(n_1, n_2) + 1))
    inside = edges >= 0
    parts = []
    for start in range(0, len(theta), rows):
        angles = theta[start : start + rows]
        first = _densities(angles, n_1)[:, inside]
        second = np.cumsum(_densities(angles, n_2), axis=1)[:, edges[inside]]
        parts.append((first * second).sum(axis=1))
    return np.concatenate(parts)


def _densities(theta: Floats, n: int) -> Floats:
    """Binomial probabilities of 0..n (columns) at each p = sin²(θ/2) (rows)."""
    k = np.arange(n + 1)
    log_choose = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    tiny = 1e-300  # p = 0 and p = 1 end exactly where they should: 0 · log(tiny) = 0
    hit = np.log(np.maximum(np.sin(theta / 2) ** 2, tiny))[:, None]
    miss = np.log(np.maximum(np.cos(theta / 2) ** 2, tiny))[:, None]
    return np.asarray(np.exp(log_choose + k * hit + (n - k) * miss))
