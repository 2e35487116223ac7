"""p-values and the two exact tests."""

import itertools
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import (
    SimilarityLimit,
    binomial_test,
    max_correct,
    p_value,
    pc_at_pd,
    similarity_test,
)
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, reference, tail

CHANCES = st.sampled_from([HALF, THIRD, SIXTH])


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
def test_one_sided_in_fractions_to_30(chance):
    for n in range(1, 31):
        for x in range(n + 1):
            assert p_value(x, n, chance) == pytest.approx(float(tail(x, n, chance)), rel=1e-12)


def test_two_sided_in_fractions_to_30():
    for n in range(1, 31):
        for x in range(n + 1):
            exact = min(Fraction(1), 2 * tail(max(x, n - x), n, HALF))
            assert p_value(x, n, HALF, 2) == pytest.approx(float(exact), rel=1e-12)


@given(st.integers(1, 2000), st.data(), CHANCES)
def test_against_scipy(n, data, chance):
    x = data.draw(st.integers(0, n))
    theirs = stats.binomtest(x, n, float(chance), alternative="greater").pvalue
    assert p_value(x, n, chance) == pytest.approx(theirs, rel=1e-9, abs=1e-300)
    theirs = stats.binomtest(x, n, 0.5).pvalue  # equal to doubling, as chance 1/2 is symmetric
    assert p_value(x, n, HALF, 2) == pytest.approx(theirs, rel=1e-9, abs=1e-300)


@given(st.integers(1, 40), CHANCES)
def test_one_at_no_correct_answer_and_strictly_falling(n, chance):
    values = [p_value(x, n, chance) for x in range(n + 1)]
    assert values[0] == 1.0
    assert all(later < earlier for earlier, later in itertools.pairwise(values))


@given(st.integers(1, 500), st.data(), CHANCES, st.sampled_from(["0.1", "0.05", "0.01"]))
def test_significant_is_p_at_most_alpha(n, data, chance, alpha):
    x = data.draw(st.integers(0, n))
    test = binomial_test(x, n, chance, Decimal(alpha))
    assert test.significant == (tail(x, n, chance) <= Fraction(alpha))
    assert test.p_value == p_value(x, n, chance)


@given(st.integers(1, 200), st.data())
def test_two_sided_does_not_care_which_drink_is_counted(n, data):
    x = data.draw(st.integers(0, n))
    one, other = (binomial_test(k, n, HALF, Decimal("0.05"), 2) for k in (x, n - x))
    assert (one.p_value, one.significant) == (other.p_value, other.significant)


def test_open_pancake_data():
    """29 of 108 odd cups found: stats.stackexchange.com question 86605 (seen), p by arithmetic."""
    assert p_value(29, 108, THIRD) == pytest.approx(0.9393055624172921, abs=1e-12)


def test_bitterness_example():
    """25 of 50, Byer & Abrams 1953 (counts seen in a quotation); p and numbers by arithmetic."""
    test = binomial_test(25, 50, THIRD, Decimal("0.05"))
    assert test.p_value == pytest.approx(0.010827, abs=5e-7)
    assert test.significant
    assert test.critical_number == 23
    assert binomial_test(25, 50, THIRD, Decimal("0.01")).critical_number == 26


def test_new_malt_example():
    """12 tasters, 8 right: just significant. Meilgaard, Civille & Carr, from memory (fair)."""
    test = binomial_test(8, 12, THIRD, Decimal("0.05"))
    assert (test.critical_number, test.significant) == (8, True)
    assert not binomial_test(7, 12, THIRD, Decimal("0.05")).significant
    assert binomial_test(21, 40, HALF, Decimal("0.05")).critical_number == 26  # duo-trio example


def test_no_count_reaches_alpha():
    test = binomial_test(2, 2, THIRD, Decimal("0.05"))
    assert (test.critical_number, test.significant) == (None, False)


# --- similarity -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row", reference("similarity_maxima"), ids=lambda r: f"{r['p0']}-{r['n']}-{r['beta']}-{r['pd']}"
)
def test_printed_similarity_table(row):
    n, chance = int(row["n"]), Fraction(row["p0"])
    found = max_correct(n, pc_at_pd(chance, Decimal(row["pd"])), Decimal(row["beta"]))
    if row["max_correct"]:
        assert found == int(row["max_correct"]), row["source"]
    else:  # the standard leaves the cell blank where the number lies below n/2
        assert found is None or found < n * chance


@pytest.mark.parametrize(
    ("n", "pd", "exact"),
    [(126, "0.4", 71), (126, "0.5", 78), (132, "0.3", 68), (132, "0.4", 75), (132, "0.5", 82)],
)
def test_misprint_in_the_paired_similarity_table(n, pd, exact):
    """ISO 5495:2005 Table A.3 prints one less at beta .001 for these five, unlike all its rows."""
    pc = pc_at_pd(HALF, Decimal(pd))
    assert max_correct(n, pc, Decimal("0.001")) == exact
    assert 1 - tail(exact + 1, n, pc) <= Fraction(1, 1000) < 1 - tail(exact + 2, n, pc)


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH], ids=str)
@pytest.mark.parametrize("beta", ["0.3", "0.1", "0.05", "0.001"])
def test_similarity_maximum_in_fractions_to_60(chance, beta):
    for pd in ("0.1", "0.3", "0.5"):
        pc = pc_at_pd(chance, Decimal(pd))
        for n in range(1, 61, 3):
            x = max_correct(n, pc, Decimal(beta))
            if x is None:
                assert 1 - tail(1, n, pc) > Fraction(beta)
            else:
                assert 1 - tail(x + 1, n, pc) <= Fraction(beta) < 1 - tail(x + 2, n, pc)


def test_similarity_ties():
    """P(X <= 0 | 3, 3/4) is 1/64 exactly."""
    assert max_correct(3, Fraction(3, 4), Fraction(1, 64)) == 0
    assert max_correct(3, Fraction(3, 4), Fraction(1, 64) - Fraction(1, 10**30)) is None


def test_when_all_would_be_right_one_wrong_shows_similarity():
    assert max_correct(10, Fraction(1), Decimal("0.05")) == 9


@given(st.integers(1, 300), st.data(), CHANCES)
def test_similar_is_p_at_most_beta(n, data, chance):
    x = data.draw(st.integers(0, n))
    limit = SimilarityLimit(pc_at_pd(chance, Decimal("0.3")), Decimal("0.05"))
    test = similarity_test(x, n, chance, limit)
    assert test.similar == (1 - tail(x + 1, n, limit.pc) <= Fraction(1, 20))
    assert test.p_value == pytest.approx(stats.binom.cdf(x, n, float(limit.pc)), rel=1e-9)


def test_two_sided_similarity_compares_the_larger_count():
    """All for one drink is no similarity, whichever drink was counted."""
    limit = SimilarityLimit(pc_at_pd(HALF, Decimal("0.3")), Decimal("0.05"))
    assert similarity_test(0, 40, HALF, limit, 1).similar
    assert not similarity_test(0, 40, HALF, limit, 2).similar
    few, many = (similarity_test(x, 80, HALF, limit, 2) for x in (38, 42))
    assert few.similar
    assert (few.p_value, few.similar) == (many.p_value, many.similar)


def test_a_limit_at_guessing_is_refused():
    with pytest.raises(PanelError, match="too small"):
        similarity_test(5, 10, THIRD, SimilarityLimit(THIRD, Decimal("0.05")))
