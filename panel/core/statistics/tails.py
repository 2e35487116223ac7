"""Binomial tails: fast in floating point, decided in integers where floating point cannot decide.

Only the upper tail is needed: P(X <= x | n, p) = P(n - X >= n - x | n, 1 - p).
"""

import math
from collections.abc import Callable
from fractions import Fraction
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betainc

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

# A tail this close to its bound (relative) is compared in integers. The regularised incomplete
# beta function is good to about 1e-12 up to 100,000 tasters, which the tests measure.
NEAR = 1e-9


def upper_tail(x: ArrayLike, n: ArrayLike, p: Fraction) -> Floats:
    """P(X >= x) for X binomial(n, p), element by element; 1 where x <= 0, 0 where x > n.

    P(X >= x) = I_p(x, n - x + 1), the regularised incomplete beta function
    (Abramowitz & Stegun 1964, 26.5.24).
    """
    counts, sizes = np.broadcast_arrays(np.asarray(x, np.float64), np.asarray(n, np.float64))
    inside = np.clip(counts, 1.0, np.maximum(sizes, 1.0))
    tail = betainc(inside, np.maximum(sizes - inside + 1.0, 1.0), float(p))
    return np.where(counts <= 0, 1.0, np.where(counts > sizes, 0.0, tail))


def lower_tail(x: ArrayLike, n: ArrayLike, p: Fraction) -> Floats:
    """P(X <= x) for X binomial(n, p), element by element, without cancellation."""
    return upper_tail(np.asarray(n) - np.asarray(x), n, 1 - p)


def exact_upper_tail(x: int, n: int, p: Fraction) -> tuple[int, int]:
    """P(X >= x) as numerator and denominator, not reduced (their gcd would cost more than the sum).

    About half a second at 100,000 tasters, which happens only when a tail lies within `NEAR`
    of its bound.
    """
    if x <= 0 or p >= 1:
        return (1, 1) if x <= n else (0, 1)
    if x > n or p <= 0:
        return 0, 1
    if p == Fraction(1, 2) and 2 * x == n + 1:
        return 1, 2  # symmetry; an alpha of 0.5 ties at every odd n, so it must be quick
    hit, of = p.numerator, p.denominator
    miss = of - hit
    first = math.comb(n, x) * hit**x * miss ** (n - x)
    if x == n:
        return first, of**n
    _, below, above = _sum_of_ratios(x, n, n, hit, miss)
    return first * (below + above) // below, of**n


def _sum_of_ratios(low: int, high: int, n: int, hit: int, miss: int) -> tuple[int, int, int]:
    """Products P, Q and sum T with T/Q = the sum over j of (P/Q up to j), by binary splitting.

    The terms C(n, j) hit^j miss^(n-j) of the tail grow by the ratio (n-j) hit / ((j+1) miss).
    """
    if high - low == 1:
        ratio = (n - low) * hit
        return ratio, high * miss, ratio
    middle = (low + high) // 2
    p_left, q_left, t_left = _sum_of_ratios(low, middle, n, hit, miss)
    p_right, q_right, t_right = _sum_of_ratios(middle, high, n, hit, miss)
    return p_left * p_right, q_left * q_right, t_left * q_right + p_left * t_right


def at_most(value: float, bound: Fraction, exactly: Callable[[], tuple[int, int]]) -> bool:
    """Is the number `value <= bound`, where `exactly` gives it as (numerator, denominator)?

    A number equal to its bound counts as reaching it.
    """
    limit = float(bound)
    if abs(value - limit) > NEAR * limit:
        return value < limit
    numerator, denominator = exactly()
    return numerator * bound.denominator <= bound.numerator * denominator


def upper_at_most(x: Ints, n: Ints, p: Fraction, bound: Fraction) -> Bools:
    """Is P(X >= x) <= bound, exactly, element by element?"""
    tails, limit = upper_tail(x, n, p), float(bound)
    reached = tails <= limit
    for i in np.flatnonzero(np.abs(tails - limit) <= NEAR * limit):
        exactly = partial(exact_upper_tail, int(x[i]), int(n[i]), p)
        reached[i] = at_most(float(tails[i]), bound, exactly)
    return reached
