"""Intervals, exact tests and d-prime by scipy alone, as docs/statistics.md states them.

Nothing here may import this program. Sources stand in docs/statistics.md beside each rule.
"""

import itertools
import math
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
from scipy import integrate, optimize, special, stats

Words = dict[str, Any]
F, f = stats.norm.cdf, stats.norm.pdf
CONFIDENCE = 0.95


# --- intervals and tests --------------------------------------------------------------------------


def clopper_pearson(x: int, n: int) -> tuple[float, float]:
    known = stats.binomtest(x, n).proportion_ci(CONFIDENCE, method="exact")
    return float(known.low), float(known.high)


def wilson(x: int, n: int) -> tuple[float, float]:
    known = stats.binomtest(x, n).proportion_ci(CONFIDENCE, method="wilson")
    return float(known.low), float(known.high)


def newcombe(x: int, n: int, y: int, m: int) -> tuple[float, float]:
    """Method 10 of Newcombe 1998, Stat Med 17:873."""
    p, q = x / n, y / m
    (p_low, p_high), (q_low, q_high) = wilson(x, n), wilson(y, m)
    low = p - q - math.hypot(p - p_low, q_high - q)
    return low, p - q + math.hypot(p_high - p, q - q_low)


def tables(counts: tuple[tuple[int, int], ...], weigh: Callable[[int, int], Any]) -> Counter[Any]:
    """Over all tables with these totals: the sorted weights of their cells, and how many ways."""
    known = Counter({(0, ()): 1})
    for _, n in counts:
        after: Counter[Any] = Counter()
        for (x, cells), ways in known.items():
            for k in range(n + 1):
                after[x + k, tuple(sorted((*cells, weigh(k, n))))] += ways * math.comb(n, k)
        known = after
    total = sum(x for x, _ in counts)
    return Counter({cells: ways for (x, cells), ways in known.items() if x == total})


@cache
def freeman_halton(counts: tuple[tuple[int, int], ...]) -> float:
    """The probability of all tables as rare as this or rarer: of one with weights C(n, x), that is
    their product."""
    own = math.prod(math.comb(n, x) for x, n in counts)
    known = tables(counts, lambda k, n: math.comb(n, k))
    rare = sum(ways for cells, ways in known.items() if math.prod(cells) <= own)
    return rare / sum(known.values())


@cache
def tarone(counts: tuple[tuple[int, int], ...]) -> Words:
    """Tarone's Z (docs/statistics.md) and the exact probability of one as large."""
    x, n = (sum(column) for column in zip(*counts, strict=True))
    pairs = sum(m * (m - 1) for _, m in counts)
    if x in (0, n) or not pairs:
        return {"z": None, "p": 1.0, "exact": True}
    p = x / n

    def far(k: int, m: int) -> float:
        return (k - m * p) ** 2 / p / (1 - p)

    own = sum(far(k, m) for k, m in counts)
    known = tables(counts, far)
    as_far = sum(ways for cells, ways in known.items() if sum(cells) >= own - 1e-9)
    z = (own - n) / math.sqrt(2 * pairs)
    return {"z": z, "p": as_far / sum(known.values()), "exact": True}


@cache
def fitted(counts: tuple[tuple[int, int], ...], chance: float) -> Words:
    """Mean and spread of the beta-binomial with chance taken out, by scipy's own search."""

    def loss(at: Sequence[float]) -> float:
        mean, spread = at
        a, b = mean * (1 / spread - 1), (1 - mean) * (1 / spread - 1)
        total = 0.0
        for x, n in counts:
            told = np.arange(x + 1)
            ways = stats.betabinom.pmf(told, n, a, b) * stats.binom.pmf(x - told, n - told, chance)
            total -= math.log(ways.sum())
        return total

    bounds = [(1e-7, 1 - 1e-7)] * 2
    starts = itertools.product((0.02, 0.3, 0.7, 0.98), (0.01, 0.2, 0.6, 0.99))
    known = min(
        (optimize.minimize(loss, one, bounds=bounds, method="L-BFGS-B") for one in starts),
        key=lambda one: one.fun,
    )
    return {"log-likelihood": -float(known.fun)}


@cache
def boschloo(x: int, n: int, y: int, m: int) -> float:
    """Twice the smaller one-sided p: tables ordered by Fisher's p, the largest probability over
    the common proportion."""
    return min(1.0, 2 * min(_one_sided(x, n, y, m), _one_sided(y, m, x, n)))


@cache
def apart(x: int, n: int, y: int, m: int, margin: float) -> float:
    """p of "the first share is above the second by the margin": docs/statistics.md, Two groups."""
    k, j = np.meshgrid(np.arange(n + 1), np.arange(m + 1), indexing="ij")
    p, q = (k + 1) / (n + 2), (j + 1) / (m + 2)
    distance = (p - q - margin) / np.sqrt(p * (1 - p) / (n + 2) + q * (1 - q) / (m + 2))
    far = distance <= distance[x, y] + 1e-9

    def probability(share: float) -> float:
        one = stats.binom.pmf(np.arange(n + 1), n, share + margin)
        return float(one @ far @ stats.binom.pmf(np.arange(m + 1), m, share))

    grid = np.linspace(0, 1 - margin, 201)
    best = int(np.argmax([probability(share) for share in grid]))
    ends = grid[max(0, best - 1)], grid[min(200, best + 1)]
    found = optimize.minimize_scalar(
        lambda share: -probability(share), bounds=ends, method="bounded", options={"xatol": 1e-9}
    )
    return max(-float(found.fun), probability(grid[best]))


def _one_sided(x: int, n: int, y: int, m: int) -> float:
    first, second = np.meshgrid(np.arange(n + 1), np.arange(m + 1), indexing="ij")
    fisher = stats.hypergeom.sf(first - 1, n + m, n, first + second)
    extreme = fisher <= fisher[x, y] * (1 + 1e-9)

    def probability(theta: float) -> float:
        one = stats.binom.pmf(np.arange(n + 1), n, theta)
        other = stats.binom.pmf(np.arange(m + 1), m, theta)
        return float(one @ extreme @ other)

    grid = np.linspace(0, 1, 401)
    best = int(np.argmax([probability(theta) for theta in grid]))
    ends = grid[max(0, best - 1)], grid[min(400, best + 1)]
    found = optimize.minimize_scalar(
        lambda theta: -probability(theta), bounds=ends, method="bounded", options={"xatol": 1e-10}
    )
    return max(-float(found.fun), probability(grid[best]))


# --- d-prime --------------------------------------------------------------------------------------


# Of three cups of one drink: the middle one, the gap to the highest, and their joint density.
_MIDDLE, _GAP = np.linspace(-8, 8, 401)[:, None], np.linspace(0, 12, 401)[None, :]
_BEYOND = _MIDDLE + 2 * _GAP
_OF_THREE = 6 * F(_MIDDLE) * f(_MIDDLE) * f(_MIDDLE + _GAP)


@cache
def curve(method: str) -> Callable[[float], float]:
    """Proportion correct at a distance of d between the means (docs/statistics.md, d-prime)."""
    r2, r3, r6 = math.sqrt(2), math.sqrt(3), math.sqrt(6)

    def over(part: Callable[[float, float], float]) -> Callable[[float], float]:
        return lambda d: integrate.quad(part, -12, 12 + d, args=(d,), epsabs=1e-12, limit=400)[0]

    def triangle(d: float) -> float:
        def part(z: float) -> float:
            return (F(-z * r3 + d * r2 / r3) + F(-z * r3 - d * r2 / r3)) * f(z)

        return float(2 * integrate.quad(part, 0, 12, epsabs=1e-12, limit=400)[0])

    def two_out_of_five(d: float) -> float:
        """The pair above or below all three, and the gap to it the wider of the middle two."""
        ways = sum(special.ndtr(way - _BEYOND) ** 2 for way in (d, -d))
        return float(integrate.simpson(integrate.simpson(_OF_THREE * ways, _GAP[0]), _MIDDLE[:, 0]))

    curves: dict[str, Callable[[float], float]] = {
        "two-out-of-five": two_out_of_five,
        "triangle": triangle,
        "duo-trio": lambda d: 1 - F(d / r2) - F(d / r6) + 2 * F(d / r2) * F(d / r6),
        "tetrad": lambda d: (
            1 - 2 * over(lambda z, d: f(z) * (2 * F(z) * F(z - d) - F(z - d) ** 2))(d)
        ),
        "tetrad-specified": lambda d: 2 * over(lambda z, d: f(z) * F(z) * (1 - F(z - d)) ** 2)(d),
        "3-afc": over(lambda z, d: F(z) ** 2 * f(z - d)),
        "paired": lambda d: F(d / r2),
        "paired-preference": lambda d: F(d / r2),
    }
    return curves[method]


def d_prime(method: str, p0: float, *, signed: bool) -> Callable[[float], float | None]:
    """The way back: 0 at or below chance (with two sides it has a sign); None beyond all bounds."""
    rises = curve(method)

    def back(share: float) -> float | None:
        if share >= 1:
            return None
        if signed:
            return None if share <= 0 else float(math.sqrt(2) * stats.norm.ppf(share))
        if share <= p0 + 1e-12:
            return 0.0
        return float(optimize.brentq(lambda d: rises(d) - share, 0, 30, xtol=1e-12))

    return back
