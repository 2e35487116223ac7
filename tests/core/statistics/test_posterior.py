"""The count with a flat prior: against a textbook, closed forms, fractions and a fine grid."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.errors import PanelError
from panel.core.statistics import flat_posterior, pc_at_pd
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, approx, reference, tail

C95 = Decimal("0.95")


@pytest.mark.parametrize("row", reference("flat_prior"), ids=lambda row: row["quantity"])
def test_a_textbook(row):
    known = flat_posterior(int(row["correct"]), int(row["n"]), HALF, Fraction(3, 4), C95, 2)
    got = {"median": known.median, "low": known.interval.low, "high": known.interval.high}
    assert got[row["quantity"]] == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH])
@given(st.integers(1, 60), st.data())
def test_beyond_the_limit_in_fractions(chance, n, data):
    """P(beta(x+1, n−x+1) > p) = P(X <= x), X binomial(n+1, p): a sum in integers."""
    x = data.draw(st.integers(n // 3, n))
    limit = pc_at_pd(chance, Decimal("0.3"))
    known = flat_posterior(x, n, chance, limit, C95)
    if known is None:
        pytest.fail("such a count is not far below chance")
    above = lambda p: 1 - tail(x + 1, n + 1, p)  # noqa: E731
    assert known.beyond_limit == pytest.approx(float(above(limit) / above(chance)), rel=1e-9)


def test_closed_form_of_one_right_answer():
    """Density 2p from 1/3 to 1: P(pd > t) = (1 − p²)/(1 − 1/9) at p = 1/3 + 2t/3."""
    known = flat_posterior(1, 1, THIRD, pc_at_pd(THIRD, Decimal("0.5")), C95)
    assert known.beyond_limit == pytest.approx((1 - 4 / 9) / (8 / 9))
    assert known.median == pytest.approx(((5 / 9) ** 0.5 - 1 / 3) * 1.5)


def test_against_a_fine_grid():
    pc = np.linspace(1 / 3, 1, 400_001)
    weight = pc**15 * (1 - pc) ** 21
    below = np.cumsum(weight) / weight.sum()
    pd = (pc - 1 / 3) * 1.5
    known = flat_posterior(15, 36, THIRD, pc_at_pd(THIRD, Decimal("0.3")), C95)
    ends = known.interval.low, known.median, known.interval.high
    assert ends == pytest.approx(
        [pd[np.searchsorted(below, q)] for q in (0.025, 0.5, 0.975)], abs=1e-4
    )
    assert known.beyond_limit == pytest.approx(1 - below[np.searchsorted(pd, 0.3)], abs=1e-4)


@given(st.integers(1, 200), st.data())
def test_two_sides_are_mirrored_and_beyond_counts_both(n, data):
    x = data.draw(st.integers(0, n))
    one = flat_posterior(x, n, HALF, Fraction(13, 20), C95, 2)
    other = flat_posterior(n - x, n, HALF, Fraction(13, 20), C95, 2)
    assert one.median == pytest.approx(1 - other.median, abs=1e-9)
    assert one.interval.low == pytest.approx(1 - other.interval.high, abs=1e-9)
    assert one.beyond_limit == pytest.approx(other.beyond_limit)


def test_far_below_chance_there_is_none_and_impossible_counts_are_refused():
    assert flat_posterior(0, 100_000, THIRD, HALF, C95) is None
    with pytest.raises(PanelError):
        flat_posterior(5, 4, THIRD, HALF, C95)


def test_it_covers_as_often_as_it_says_over_its_own_prior():
    """Drawn from the prior, the interval holds the truth 95 times in 100, exactly in the mean."""
    n = 12
    inside = 0.0
    pc = np.linspace(1 / 3, 1, 20_001)
    for x in range(n + 1):
        known = flat_posterior(x, n, THIRD, HALF, C95)
        low, high = (1 / 3 + end * 2 / 3 for end in (known.interval.low, known.interval.high))
        ways = np.prod([(n - k) / (k + 1) for k in range(x)]) if x else 1.0
        weight = ways * pc**x * (1 - pc) ** (n - x)
        inside += float(np.mean(weight * ((pc >= low) & (pc <= high))))
    assert inside == pytest.approx(0.95, abs=1e-3)
