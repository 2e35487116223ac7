"""Hits against false alarms: Fisher and McNemar against books, scipy and every table; power."""

import math
from decimal import Decimal
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import (
    Rates,
    can_decide,
    power_of_rates,
    rate_test,
    rates_at,
    smallest_difference,
    tasters_for_rates,
)
from panel.core.statistics.two_rates import deciding_tables, fisher_tail, mcnemar_tail
from tests.core.statistics.oracle import approx, reference

ALPHA, BETA, CONFIDENCE = Decimal("0.05"), Decimal("0.2"), Decimal("0.95")


@pytest.mark.parametrize(
    "row", [row for row in reference("two_rates") if row["quantity"] == "fisher"]
)
def test_fisher_of_the_books(row):
    counts = [int(row[name]) for name in ("hits", "targets", "false_alarms", "others")]
    assert float(fisher_tail(*counts)) == approx(row["value"], float(row["tolerance"]))


@given(st.integers(1, 30), st.integers(1, 30), st.data())
def test_fisher_by_scipy(n, m, data):
    x, y = data.draw(st.integers(0, n)), data.draw(st.integers(0, m))
    known = stats.fisher_exact([[x, y], [n - x, m - y]], alternative="greater").pvalue
    assert float(fisher_tail(x, n, y, m)) == pytest.approx(known, rel=1e-9)


@given(st.integers(0, 40), st.integers(0, 40))
def test_mcnemar_by_scipy(first, second):
    if first + second == 0:
        return
    known = stats.binomtest(first, first + second, 0.5, alternative="greater").pvalue
    assert float(mcnemar_tail(first, second)) == pytest.approx(known, rel=1e-9)


def test_mcnemar_of_ten_and_five():
    """0.3018 two-sided (binomial identity), so half of it on one side."""
    assert 2 * float(mcnemar_tail(10, 5)) == approx(0.3018, 5e-5)


def test_every_table_is_decided_as_by_fractions():
    """Ties with alpha included: 1/20 is three of three against none, exactly."""
    for n, m in product(range(1, 13), repeat=2):
        for alpha in (Fraction(1, 20), Fraction(1, 10), Fraction(1, 70)):
            known = [[fisher_tail(x, n, y, m) <= alpha for y in range(m + 1)] for x in range(n + 1)]
            assert deciding_tables(n, m, alpha).tolist() == known
    assert deciding_tables(3, 3, Fraction(1, 20))[3, 0]


def test_the_risk_is_kept_at_every_rate():
    """Exactly, over all tables of up to 15 and 15: no common rate is called a difference more
    often than alpha."""
    for n, m in ((3, 3), (8, 7), (15, 15)):
        for rate in np.linspace(0.02, 0.98, 25):
            both = power_of_rates(n + m, rate, rate, ALPHA, paired=False)
            pairs = power_of_rates(n + m, rate, rate, ALPHA, paired=True)
            assert max(both, pairs) <= 0.05


def test_power_of_two_groups_by_adding_up():
    n, m, hit, alarm = 9, 8, 0.8, 0.3
    total = sum(
        stats.binom.pmf(x, n, hit) * stats.binom.pmf(y, m, alarm)
        for x, y in product(range(n + 1), range(m + 1))
        if fisher_tail(x, n, y, m) <= Fraction(1, 20)
    )
    other = sum(
        stats.binom.pmf(x, m, hit) * stats.binom.pmf(y, n, alarm)
        for x, y in product(range(m + 1), range(n + 1))
        if fisher_tail(x, m, y, n) <= Fraction(1, 20)
    )
    found = power_of_rates(17, hit, alarm, ALPHA, paired=False)
    assert found == pytest.approx((total + other) / 2, rel=1e-9)


def test_power_of_pairs_by_adding_up():
    n, hit, alarm = 14, 0.75, 0.35
    only, other = hit * (1 - alarm), alarm * (1 - hit)
    total = 0.0
    for b, c in product(range(n + 1), repeat=2):
        if 0 < b + c <= n and mcnemar_tail(b, c) <= Fraction(1, 20):
            total += stats.multinomial.pmf([b, c, n - b - c], n, [only, other, 1 - only - other])
    assert power_of_rates(n, hit, alarm, ALPHA, paired=True) == pytest.approx(total, rel=1e-9)


@pytest.mark.parametrize("paired", [False, True])
@pytest.mark.parametrize(("line", "d"), [("yes-no", 1.0), ("yes-no", 2.0), ("same-different", 2.0)])
def test_tasters_needed_by_trying_each(line, d, paired):
    rates = rates_at(line, d)
    needed = tasters_for_rates(*rates, ALPHA, BETA, paired=paired)
    enough = [
        power_of_rates(n, *rates, ALPHA, paired=paired) >= 0.8 for n in range(2, needed.tried + 1)
    ]
    assert enough.index(True) + 2 == needed.first_tasters
    assert all(enough[needed.holding_tasters - 2 :])
    assert needed.holding_tasters == needed.first_tasters or not enough[needed.holding_tasters - 3]


def test_hopeless_plans_are_refused():
    with pytest.raises(PanelError, match="No number of tasters"):
        tasters_for_rates(0.51, 0.5, ALPHA, BETA, paired=False)
    with pytest.raises(PanelError, match="No number of tasters"):
        tasters_for_rates(0.5, 0.5, ALPHA, BETA, paired=True)


def test_the_fewest_that_can_decide():
    assert [can_decide(n, n, ALPHA, paired=False) for n in (0, 2, 3)] == [False, False, True]
    assert [can_decide(n, n, ALPHA, paired=True) for n in (0, 4, 5)] == [False, False, True]
    assert can_decide(2, 5, ALPHA, paired=False)  # 1/21
    assert not can_decide(2, 4, ALPHA, paired=False)  # 1/15


def test_the_smallest_difference_found():
    for paired in (False, True):
        share = smallest_difference(40, ALPHA, Decimal("0.8"), paired=paired)
        assert share is not None
        for change, enough in ((-0.01, False), (0.0, True)):
            rates = (1 + share + change) / 2, (1 - share - change) / 2
            assert (power_of_rates(40, *rates, ALPHA, paired=paired) >= 0.8) is enough
    assert smallest_difference(4, ALPHA, Decimal("0.8"), paired=False) is None


def test_an_interval_of_paired_shares_covers():
    """By adding up over all 20 tasters of a paired test, whichever way their answers hang
    together: Newcombe's method covers 95 % on the average, and nowhere below 90 %."""
    n, seen = 20, []
    tables = [
        (a, b, c) for a in range(n + 1) for b in range(n + 1 - a) for c in range(n + 1 - a - b)
    ]
    intervals = {
        (a, b, c): rate_test(Rates(a + b, n, a + c, n, b, c), ALPHA, CONFIDENCE).interval
        for a, b, c in tables
    }
    counts = np.array([(a, b, c, n - a - b - c) for a, b, c in tables])
    ends = np.array([(intervals[one].low, intervals[one].high) for one in tables])
    for chances in (
        (0.3, 0.3, 0.1, 0.3),
        (0.1, 0.5, 0.2, 0.2),
        (0.25,) * 4,
        (0.05, 0.3, 0.4, 0.25),
    ):
        weights = stats.multinomial.pmf(counts, n, chances)
        truth = chances[1] - chances[2]
        seen.append(weights[(ends[:, 0] <= truth) & (truth <= ends[:, 1])].sum())
    assert min(seen) > 0.9
    assert sum(seen) / len(seen) > 0.945


def test_what_is_counted_comes_back():
    found = rate_test(Rates(17, 30, 9, 30), ALPHA, CONFIDENCE)
    assert (found.kind, found.significant) == ("fisher", True)
    assert found.hit_rate == pytest.approx(17 / 30)
    assert found.difference == pytest.approx(8 / 30)
    assert found.interval.low < found.difference < found.interval.high
    paired = rate_test(Rates(9, 12, 4, 12, 6, 1), ALPHA, CONFIDENCE)
    assert (paired.kind, paired.p_value) == ("mcnemar", pytest.approx(8 / 128))
    assert not paired.significant
    with pytest.raises(PanelError):
        rate_test(Rates(5, 4, 0, 4), ALPHA, CONFIDENCE)


def test_a_large_panel_is_fast_enough_to_be_planned():
    """No times are asserted: that it is found at all, and is the one of the normal curve within
    five in a hundred."""
    needed = tasters_for_rates(*rates_at("same-different", 1.0), ALPHA, BETA, paired=False)
    hit, alarm = rates_at("same-different", 1.0)
    spread = hit * (1 - hit) + alarm * (1 - alarm)
    rough = 2 * spread * ((1.6449 + 0.8416) / (hit - alarm)) ** 2
    assert math.isclose(needed.holding_tasters, rough, rel_tol=0.1)
