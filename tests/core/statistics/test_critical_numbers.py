"""Critical numbers against printed tables, and against integers over the tables' whole range."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.statistics import critical_number
from panel.core.statistics.binomial import critical_numbers
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, critical, reference, tail

ALPHAS = [Decimal(text) for text in ("0.5", "0.4", "0.3", "0.2", "0.1", "0.05", "0.01", "0.001")]


@pytest.mark.parametrize(
    ("row"), reference("critical_numbers"), ids=lambda r: f"{r['test']}-{r['n']}-{r['alpha']}"
)
def test_printed_table(row):
    found = critical_number(
        int(row["n"]), Fraction(row["p0"]), Decimal(row["alpha"]), int(row["sides"])
    )
    assert found == (int(row["critical"]) if row["critical"] else None), row["source"]


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH, Fraction(1, 10)], ids=str)
@pytest.mark.parametrize("alpha", ALPHAS, ids=str)
def test_every_number_of_tasters_to_100(chance, alpha):
    for n in range(1, 101):
        assert critical_number(n, chance, alpha) == critical(n, chance, Fraction(alpha))


@pytest.mark.parametrize("alpha", ALPHAS, ids=str)
def test_two_sided_to_100_is_one_sided_at_half_alpha(alpha):
    for n in range(1, 101):
        found = critical_number(n, HALF, alpha, 2)
        assert found == critical(n, HALF, Fraction(alpha), 2)
        assert found == critical_number(n, HALF, alpha / 2)


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
def test_definition_in_fractions_to_30(chance):
    """The number reaches alpha and the one below does not; none only where n of n is too likely."""
    for n in range(1, 31):
        for alpha in ALPHAS:
            x = critical_number(n, chance, alpha)
            if x is None:
                assert tail(n, n, chance) > Fraction(alpha)
            else:
                assert tail(x, n, chance) <= Fraction(alpha) < tail(x - 1, n, chance)


# Every tail is its own alpha here: a tail that equals alpha reaches it, one a shade above does not.
@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
@pytest.mark.parametrize("n", [1, 5, 12, 23, 30, 100, 1000])
def test_exact_ties(chance, n):
    for x in {1, 2, n // 3, n // 2, (n + 1) // 2, n - 1, n} - {0}:
        if x > n:
            continue
        tie = tail(x, n, chance)
        if tie > 1 - Fraction(1, 10**20):
            continue  # the tails below it would lie within the shade as well
        assert critical_number(n, chance, tie) == x
        shade = tie * (1 - Fraction(1, 10**30))
        assert critical_number(n, chance, shade) == (x + 1 if x < n else None)


def test_ties_that_can_be_typed():
    assert critical_number(5, HALF, Decimal("0.03125")) == 5
    assert critical_number(5, HALF, Decimal("0.031249999999999999")) is None
    assert critical_number(5, HALF, Decimal("0.0625"), 2) == 5
    assert critical_number(5, HALF, Decimal("0.06249999999999999999"), 2) is None
    # 23 cups and at least 20 right is 2^-12 exactly (the sum behind the binary Golay code)
    assert critical_number(23, HALF, Decimal("0.000244140625")) == 20
    # a coin, an odd number of tasters and alpha one half tie at every size
    assert critical_number(99_999, HALF, Decimal("0.5")) == 50_000


def test_trap_triangle_100_at_one_percent():
    """P(X >= 45) = .010005 > .01: the number is 46, though the normal formula prints 45."""
    assert critical_number(100, THIRD, Decimal("0.01")) == 46
    assert Fraction(1, 100) < tail(45, 100, THIRD) < Fraction(10_006, 10**6)
    z = stats.norm.isf(0.01)
    assert int(np.ceil(100 / 3 + z * np.sqrt(100 * 2 / 9) + 0.5)) in (45, 46)
    assert int(np.ceil(100 / 3 + z * np.sqrt(100 * 2 / 9))) == 45


def test_nothing_can_be_significant():
    """Two triangle tasters: both right happens by guessing in one case of nine."""
    assert critical_number(2, THIRD, Decimal("0.05")) is None
    assert critical_number(3, THIRD, Decimal("0.05")) == 3
    assert critical_number(4, HALF, Decimal("0.05")) is None


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
@pytest.mark.parametrize("alpha", ["0.05", "0.001", "0.000000001"])
def test_large_panels_against_scipy(chance, alpha):
    n = np.array([1_000, 9_999, 31_416, 99_999, 100_000])
    bound = Fraction(Decimal(alpha))
    found = critical_numbers(n, chance, bound)
    assert (stats.binom.sf(found - 1, n, float(chance)) <= float(bound)).all()
    assert (stats.binom.sf(found - 2, n, float(chance)) > float(bound)).all()


def test_large_panel_in_integers():
    x = critical_number(20_000, THIRD, Decimal("0.05"))
    assert x is not None
    # 1 - P(X >= x) is the shorter sum by symmetry of complement; adding 13,000 terms is bearable
    hit, total, term = 0, 3**20_000, 1
    for k in range(20_000, x - 1, -1):
        hit += term  # term = C(n, k) 2^(n-k)
        term = term * k * 2 // (20_000 - k + 1)
    assert hit * 20 <= total < (hit + term) * 20


def test_a_nearly_certain_alpha():
    """The ends of what may be typed still obey the definition."""
    assert critical_number(10, HALF, Decimal("0.999999999999")) == 1
    assert critical_number(10, HALF, Decimal("1e-30")) is None
    assert critical_number(100, HALF, Decimal("1e-30")) == 100


@given(
    st.integers(1, 400),
    st.sampled_from([HALF, THIRD, SIXTH]),
    st.decimals("0.0001", "0.9999", places=4),
)
def test_any_alpha(n, chance, alpha):
    assert critical_number(n, chance, alpha) == critical(n, chance, Fraction(alpha))


@given(st.integers(1, 5000), st.sampled_from([HALF, THIRD, SIXTH]), st.sampled_from(ALPHAS))
def test_one_more_taster_raises_it_by_at_most_one(n, chance, alpha):
    """What the block search of the planner stands on."""
    one, two = critical_numbers(np.array([n, n + 1]), chance, Fraction(alpha))
    assert two - one in (0, 1)


@pytest.mark.parametrize(("chance", "sides"), [(THIRD, 2), (HALF, 3), (Fraction(0), 1), (0.5, 1)])
def test_a_rule_that_cannot_be(chance, sides):
    with pytest.raises(ValueError, match=r"side|chance"):
        critical_number(10, chance, Decimal("0.05"), sides)
