"""Floating tails are good enough for the place where integers take over."""

from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from panel.core.statistics.tails import (
    NEAR,
    at_most,
    exact_upper_tail,
    lower_tail,
    upper_at_most,
    upper_tail,
)
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, tail

PROPORTIONS = [HALF, THIRD, SIXTH, Fraction(1, 10), Fraction(8, 15), Fraction(99, 100)]


@pytest.mark.parametrize("p", PROPORTIONS, ids=str)
def test_integers_to_30(p):
    for n in range(1, 31):
        for x in range(n + 2):
            assert Fraction(*exact_upper_tail(x, n, p)) == tail(x, n, p)


@pytest.mark.parametrize("p", PROPORTIONS, ids=str)
def test_float_tails_to_30(p):
    for n in range(1, 31):
        x = np.arange(-1, n + 3)
        exact = np.array([float(tail(int(k), n, p)) for k in x])
        assert upper_tail(x, n, p) == pytest.approx(exact, rel=1e-12, abs=0)
        below = np.array([float(1 - tail(int(k) + 1, n, p)) for k in x])
        assert lower_tail(x, n, p) == pytest.approx(below, rel=1e-12, abs=0)


@pytest.mark.parametrize("p", [HALF, THIRD, SIXTH], ids=str)
@pytest.mark.parametrize("n", [1_000, 10_000, 100_000])
def test_float_error_stays_far_below_the_switch_to_integers(p, n):
    """Relative error of a tail, where tails may be compared with a risk, under NEAR / 100."""
    for z in (-1, 4) if n == 100_000 else (-3, -1, 0, 1, 2, 3, 5, 8):
        x = round(n * float(p) + z * (n * float(p * (1 - p))) ** 0.5)
        numerator, denominator = exact_upper_tail(x, n, p)
        exact = (numerator << 200) // denominator / 2**200  # a float may not hold the integers
        assert float(upper_tail(x, n, p)) == pytest.approx(exact, rel=NEAR / 100, abs=0)


def test_certain_and_impossible():
    assert exact_upper_tail(0, 5, THIRD) == (1, 1)
    assert exact_upper_tail(6, 5, THIRD) == (0, 1)
    assert exact_upper_tail(5, 5, Fraction(1)) == (1, 1)
    assert exact_upper_tail(1, 5, Fraction(0)) == (0, 1)
    assert upper_tail([0, 1, 5, 6], 5, Fraction(1)).tolist() == [1, 1, 1, 0]
    assert upper_tail([0, 1, 5, 6], 5, Fraction(0)).tolist() == [1, 0, 0, 0]


def test_the_half_of_an_odd_number_is_half():
    assert exact_upper_tail(8, 15, HALF) == (1, 2)
    assert tail(8, 15, HALF) == HALF


def test_integers_are_asked_only_near_the_bound():
    def never() -> tuple[int, int]:
        raise AssertionError("floating point could have decided")

    assert at_most(0.049, Fraction(1, 20), never)
    assert not at_most(0.051, Fraction(1, 20), never)
    assert at_most(0.05, Fraction(1, 20), lambda: (1, 20))
    assert not at_most(0.05, Fraction(1, 20), lambda: (10**30 + 1, 20 * 10**30))


def test_element_by_element():
    n, x = np.array([5, 5, 5]), np.array([4, 5, 6])
    assert upper_at_most(x, n, HALF, Fraction(1, 32)).tolist() == [False, True, True]


def test_against_scipy_stats():
    n = np.repeat([7, 50, 333, 5000], 50)
    x = (n * np.linspace(0, 1, 200)).astype(int)
    for p in PROPORTIONS:
        ours, theirs = upper_tail(x, n, p), stats.binom.sf(x - 1, n, float(p))
        assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-300)
        assert lower_tail(x, n, p) == pytest.approx(
            stats.binom.cdf(x, n, float(p)), rel=1e-9, abs=1e-300
        )
