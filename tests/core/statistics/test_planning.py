"""Tasters needed: against the standards' tables, and against a search of every number."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import Fault, PanelError
from panel.core.statistics import (
    SimilarityLimit,
    critical_number,
    max_correct,
    pc_at_d_prime,
    pc_at_pd,
    plan_difference,
    plan_similarity,
    power_at,
)
from panel.core.statistics.planning import _Search
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, critical, reference, tail


def every_power(n: np.ndarray, chance: Fraction, bound: float, pc: float) -> np.ndarray:
    """Exact power at each n by scipy.stats alone."""
    x = stats.binom.isf(bound, n, float(chance)) + 1
    return stats.binom.sf(x - 1, n, pc)


def search_all(chance, alpha, beta, pc, sides=1):
    """First and holding number by looking at every n up to where Hoeffding's inequality is sure.

    Hoeffding 1963: power suffices once 2 n (pc - p0)^2 >= (sqrt(ln 1/alpha) + sqrt(ln 1/beta))^2.
    """
    bound, target = float(alpha) / sides, 1 - float(beta)
    roots = np.sqrt(-np.log(bound)) + np.sqrt(-np.log(float(beta)))
    sure = int(roots**2 / (2 * float(pc - chance) ** 2)) + 2
    n = np.arange(3 if chance == THIRD else 2, sure + 1)
    enough = every_power(n, chance, bound, float(pc)) >= target
    short = n[~enough]
    return int(n[enough][0]), int(short[-1]) + 1 if len(short) else int(n[0])


@pytest.mark.parametrize(
    "row",
    reference("minimum_assessors"),
    ids=lambda r: f"{r['test']}-{r['pd']}-{r['alpha']}-{r['beta']}",
)
def test_printed_table(row):
    chance, sides = Fraction(row["p0"]), int(row["sides"])
    pc = pc_at_pd(chance, Decimal(row["pd"]))
    numbers = plan_difference(chance, Decimal(row["alpha"]), Decimal(row["beta"]), pc, sides)
    assert numbers.first_tasters == int(row["first_n"]), row["source"]
    assert numbers.holding_tasters >= numbers.first_tasters


@pytest.mark.parametrize(
    ("chance", "pd", "alpha", "beta", "recalled", "exact"),
    [
        (THIRD, "0.1", "0.05", "0.001", 1181, 1178),
        (HALF, "0.5", "0.4", "0.3", 2, 4),
        (HALF, "0.5", "0.3", "0.4", 2, 5),
        (HALF, "0.5", "0.3", "0.3", 5, 7),
        (HALF, "0.3", "0.4", "0.2", 15, 14),
    ],
)
def test_cells_recalled_wrongly(chance, pd, alpha, beta, recalled, exact):
    """Cells of ISO 4120 A.3 and ISO 10399 A.3 as recalled from memory that arithmetic contradicts.

    Either the recalled number has too little power, or a smaller one already has enough.
    """
    pc, target = pc_at_pd(chance, Decimal(pd)), 1 - Fraction(beta)

    def power(n: int) -> Fraction:
        x = critical(n, chance, Fraction(alpha))
        return Fraction(0) if x is None else tail(x, n, pc)

    found = plan_difference(chance, Decimal(alpha), Decimal(beta), pc).first_tasters
    assert found == exact
    assert power(exact) >= target
    assert recalled > exact or power(recalled) < target


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
@pytest.mark.parametrize("alpha", ["0.2", "0.1", "0.05", "0.01", "0.001"])
@pytest.mark.parametrize("beta", ["0.5", "0.2", "0.1", "0.001"])
@pytest.mark.parametrize("pd", ["0.9", "0.5", "0.3", "0.15", "0.07"])
def test_against_looking_at_every_number(chance, alpha, beta, pd):
    pc = pc_at_pd(chance, Decimal(pd))
    numbers = plan_difference(chance, Decimal(alpha), Decimal(beta), pc)
    expected = search_all(chance, Decimal(alpha), Decimal(beta), pc)
    assert (numbers.first_tasters, numbers.holding_tasters) == expected
    assert numbers.tasters == numbers.holding_tasters
    assert numbers.critical_number == critical_number(numbers.tasters, chance, Decimal(alpha))
    assert numbers.power == power_at(numbers.tasters, chance, Decimal(alpha), pc)
    assert numbers.power >= 1 - float(beta)
    assert numbers.max_correct is None


@settings(max_examples=40)
@given(
    st.sampled_from([HALF, THIRD, SIXTH]),
    st.decimals("0.01", "0.6", places=3),
    st.decimals("0.01", "0.6", places=3),
    st.decimals("0.05", "0.99", places=2),
)
def test_any_risks(chance, alpha, beta, pd):
    pc = pc_at_pd(chance, pd)
    numbers = plan_difference(chance, alpha, beta, pc)
    expected = search_all(chance, alpha, beta, pc)
    assert (numbers.first_tasters, numbers.holding_tasters) == expected


def test_in_fractions():
    """The most usual plan without any floating point: triangle, .05, .20, 30 % discriminators."""
    pc = pc_at_pd(THIRD, Decimal("0.3"))
    assert pc == Fraction(8, 15)
    powers = {n: tail(critical(n, THIRD, Fraction(1, 20)) or n + 1, n, pc) for n in range(3, 120)}
    enough = [n for n, power in powers.items() if power >= Fraction(4, 5)]
    short = [n for n, power in powers.items() if power < Fraction(4, 5)]
    numbers = plan_difference(THIRD, Decimal("0.05"), Decimal("0.2"), pc)
    assert (numbers.first_tasters, numbers.holding_tasters) == (enough[0], short[-1] + 1)
    assert numbers.power == pytest.approx(float(powers[numbers.tasters]), rel=1e-12)


def test_saw_tooth_of_the_triangle():
    """Recomputed from the definition: n = 40 is enough, 41 is not, from 42 on it holds."""
    pc = pc_at_pd(THIRD, Decimal("0.3"))
    assert power_at(40, THIRD, Decimal("0.05"), pc) == pytest.approx(0.8155, abs=5e-5)
    assert power_at(41, THIRD, Decimal("0.05"), pc) == pytest.approx(0.7709, abs=5e-5)
    numbers = plan_difference(THIRD, Decimal("0.05"), Decimal("0.2"), pc)
    assert (numbers.first_tasters, numbers.holding_tasters) == (40, 42)
    half = plan_difference(THIRD, Decimal("0.05"), Decimal("0.05"), pc_at_pd(THIRD, Decimal("0.5")))
    assert (half.first_tasters, half.holding_tasters) == (23, 29)


def test_tetrad_needs_a_third_of_the_triangle():
    """As the abstract of Ennis & Jesionka 2011 says (seen); the numbers by arithmetic."""
    risks = Decimal("0.05"), Decimal("0.2")
    numbers = {
        link: plan_difference(THIRD, *risks, pc_at_d_prime(link, Decimal(1)))
        for link in ("triangle", "tetrad")
    }
    assert (numbers["triangle"].first_tasters, numbers["triangle"].holding_tasters) == (202, 220)
    assert (numbers["tetrad"].first_tasters, numbers["tetrad"].holding_tasters) == (61, 65)


@pytest.mark.parametrize("alpha", ["0.1", "0.05", "0.01"])
def test_two_sides_need_what_one_side_needs_at_half_alpha(alpha):
    pc = pc_at_pd(HALF, Decimal("0.4"))
    two = plan_difference(HALF, Decimal(alpha), Decimal("0.1"), pc, 2)
    one = plan_difference(HALF, Decimal(alpha) / 2, Decimal("0.1"), pc, 1)
    assert two == one


def test_the_power_may_equal_its_target():
    """Five of five at alpha 1/32 with pc 3/4 has power (3/4)^5: a beta that fits exactly is met."""
    beta = 1 - Fraction(3, 4) ** 5
    alpha = Fraction(1, 32)
    assert plan_difference(HALF, alpha, beta, Fraction(3, 4)).first_tasters == 5
    shade = beta - Fraction(1, 10**30)
    assert plan_difference(HALF, alpha, shade, Fraction(3, 4)).first_tasters > 5


def test_everybody_tells():
    """With pc = 1 the first number of tasters that can be significant at all is enough."""
    numbers = plan_difference(THIRD, Decimal("0.05"), Decimal("0.2"), Fraction(1))
    assert (numbers.first_tasters, numbers.holding_tasters, numbers.power) == (3, 3, 1.0)
    numbers = plan_difference(HALF, Decimal("0.05"), Decimal("0.2"), Fraction(1), 2)
    assert (numbers.first_tasters, numbers.critical_number) == (6, 6)


def test_a_coin_and_even_risks():
    """Alpha one half ties at every odd n; the dips are as deep as they get."""
    pc = pc_at_pd(HALF, Decimal("0.01"))
    numbers = plan_difference(HALF, Decimal("0.5"), Decimal("0.5"), pc)
    n = np.arange(2, 2000)
    x = n // 2 + 1  # smallest x with P(X >= x) <= 1/2
    short = n[stats.binom.sf(x - 1, n, float(pc)) < 0.5]
    assert (numbers.first_tasters, numbers.holding_tasters) == (3, short[-1] + 1)


def test_chernoffs_bound_holds_and_is_not_wasteful():
    """Where the search stops, power suffices for the next thousand numbers as well."""
    for chance, pd in ((THIRD, "0.3"), (HALF, "0.1"), (SIXTH, "0.8"), (THIRD, "0.02")):
        pc = pc_at_pd(chance, Decimal(pd))
        search = _Search(chance, Decimal("0.05"), Decimal("0.1"), pc, 1)
        sure, holding = search._sure(), search.first_and_holding()[1]
        n = np.arange(sure, sure + 1000)
        assert (every_power(n, chance, 0.05, float(pc)) >= 0.9).all()
        assert holding <= sure <= 6 * holding


def test_large_plans():
    """Near the limit, against every number by scipy.stats."""
    pc = pc_at_pd(THIRD, Decimal("0.006"))
    numbers = plan_difference(THIRD, Decimal("0.05"), Decimal("0.2"), pc)
    n = np.arange(80_000, 100_001)
    enough = every_power(n, THIRD, 0.05, float(pc)) >= 0.8
    assert numbers.first_tasters == n[enough][0]
    assert numbers.holding_tasters == n[~enough][-1] + 1


@pytest.mark.parametrize("pd", ["0.005", "0.001", "0.000000001"])
def test_past_100_000_tasters(pd):
    with pytest.raises(PanelError, match="100000") as refusal:
        plan_difference(THIRD, Decimal("0.05"), Decimal("0.2"), pc_at_pd(THIRD, Decimal(pd)))
    assert refusal.value.code == "plan-too-large"
    assert refusal.value.fault is Fault.INPUT


def test_a_difference_at_guessing_is_refused():
    with pytest.raises(PanelError, match="too small"):
        plan_difference(THIRD, Decimal("0.05"), Decimal("0.2"), THIRD)


# --- similarity -----------------------------------------------------------------------------------


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
@pytest.mark.parametrize("pd", ["0.2", "0.3", "0.5"])
def test_similarity(chance, pd):
    limit = SimilarityLimit(pc_at_pd(chance, Decimal(pd)), Decimal("0.05"))
    numbers = plan_similarity(chance, Decimal("0.1"), limit)
    same = plan_difference(chance, Decimal("0.1"), Decimal("0.05"), limit.pc)
    assert numbers.first_tasters == same.first_tasters
    assert numbers.holding_tasters == numbers.tasters == same.holding_tasters
    assert numbers.critical_number == same.critical_number
    assert numbers.max_correct == max_correct(numbers.tasters, limit.pc, limit.beta)
    stays = stats.binom.cdf(numbers.max_correct, numbers.tasters, float(chance))
    assert numbers.power == pytest.approx(stays, rel=1e-12)
    assert numbers.max_correct >= numbers.critical_number - 1
    assert numbers.power >= 0.9  # the plan keeps alpha: similar drinks are shown to be so


def test_two_sided_similarity_counts_both_ways():
    limit = SimilarityLimit(pc_at_pd(HALF, Decimal("0.4")), Decimal("0.05"))
    numbers = plan_similarity(HALF, Decimal("0.1"), limit, 2)
    n, most = numbers.tasters, numbers.max_correct
    assert most is not None
    within = sum(stats.binom.pmf(x, n, 0.5) for x in range(n + 1) if max(x, n - x) <= most)
    assert numbers.power == pytest.approx(within, rel=1e-9)
