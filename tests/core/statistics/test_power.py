"""Power at a number of tasters, its curve, and the smallest difference it can find."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import (
    critical_number,
    pc_at_pd,
    power_at,
    power_curve,
    smallest_detectable,
)
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, critical, tail

ALPHA = Decimal("0.05")


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
def test_in_fractions_to_40(chance):
    pc = pc_at_pd(chance, Decimal("0.35"))
    for n in range(1, 41):
        x = critical(n, chance, Fraction(1, 20))
        exact = 0 if x is None else tail(x, n, pc)
        assert power_at(n, chance, ALPHA, pc) == pytest.approx(float(exact), rel=1e-12)


@pytest.mark.parametrize(("chance", "sides"), [(THIRD, 1), (HALF, 1), (HALF, 2), (SIXTH, 1)])
def test_curve_is_power_at_each_number(chance, sides):
    pc = pc_at_pd(chance, Decimal("0.3"))
    curve = power_curve(1, 150, chance, ALPHA, pc, sides)
    assert curve.tasters == tuple(range(1, 151))
    for n, x, power in zip(curve.tasters, curve.critical_numbers, curve.power, strict=True):
        assert x == critical_number(n, chance, ALPHA, sides)
        assert power == power_at(n, chance, ALPHA, pc, sides)


def test_saw_tooth():
    """Between two rises of the critical number power climbs; at a rise it drops (n <= 200)."""
    curve = power_curve(5, 200, THIRD, ALPHA, pc_at_pd(THIRD, Decimal("0.3")))
    steps = zip(
        curve.critical_numbers, curve.critical_numbers[1:], curve.power, curve.power[1:],
        strict=False,
    )  # fmt: skip
    drops = 0
    for before, after, power, next_power in steps:
        assert (next_power > power) == (after == before)
        drops += next_power < power
    assert drops > 50


def test_whole_curve_to_the_limit_against_scipy():
    pc = pc_at_pd(THIRD, Decimal("0.01"))
    curve = power_curve(1, 100_000, THIRD, ALPHA, pc)
    for n in (99_991, 50_000, 1_234):
        x = curve.critical_numbers[n - 1]
        assert x == stats.binom.isf(0.05, n, 1 / 3) + 1
        assert curve.power[n - 1] == pytest.approx(stats.binom.sf(x - 1, n, float(pc)), rel=1e-9)


@given(
    st.integers(3, 2000),
    st.sampled_from([HALF, THIRD, SIXTH]),
    st.sampled_from(["0.5", "0.8", "0.95"]),
)
def test_smallest_detectable_has_the_power(n, chance, power):
    """The difference found is the one whose power is the target, by the definition of power."""
    pd = smallest_detectable(n, chance, ALPHA, Decimal(power))
    if critical_number(n, chance, ALPHA) is None:
        assert pd is None
        return
    assert pd is not None
    assert 0 < pd < 1
    pc = Fraction(chance + Fraction(pd) * (1 - chance))
    assert power_at(n, chance, ALPHA, pc) == pytest.approx(float(Decimal(power)), abs=1e-9)


def test_smallest_detectable_where_nothing_can_be_significant():
    assert smallest_detectable(2, THIRD, ALPHA, Decimal("0.8")) is None


def test_three_triangle_tasters():
    """All three must be right: pc = .8^(1/3)."""
    pd = smallest_detectable(3, THIRD, ALPHA, Decimal("0.8"))
    assert pd == pytest.approx((0.8 ** (1 / 3) - 1 / 3) / (2 / 3), abs=1e-12)


def test_a_power_below_alpha_needs_no_difference():
    assert smallest_detectable(40, THIRD, ALPHA, Decimal("0.001")) == 0.0


@pytest.mark.parametrize(
    ("low", "high", "code"),
    [
        (0, 5, "tasters-too-few"),
        (5, 4, "tasters-order"),
        (1, 100_001, "tasters-too-many"),
    ],
)
def test_a_range_that_cannot_be(low, high, code):
    with pytest.raises(PanelError) as refusal:
        power_curve(low, high, THIRD, ALPHA, Fraction(1, 2))
    assert refusal.value.code == code
