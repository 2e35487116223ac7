"""Two groups: Boschloo's test and Newcombe's interval."""

from decimal import Decimal
from fractions import Fraction
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import compare_groups, newcombe
from panel.core.statistics.boschloo import _FisherOrdering, _one_sided, boschloo_p_value
from tests.core.statistics.oracle import approx, reference

CONFIDENCE = Decimal("0.95")
ROWS = [row for row in reference("intervals") if row["method"] == "newcombe"]


def groups(most: int):
    one = st.integers(1, most).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
    return st.tuples(one, one).map(lambda pair: pair[0] + pair[1])


def fisher(x_1: int, n_1: int, x_2: int, n_2: int) -> Fraction:
    """One-sided Fisher p-value, first share larger, in fractions."""
    drawn = x_1 + x_2
    ways = sum(comb(n_1, k) * comb(n_2, drawn - k) for k in range(x_1, min(n_1, drawn) + 1))
    return Fraction(ways, comb(n_1 + n_2, drawn))


def by_enumeration(x_1: int, n_1: int, x_2: int, n_2: int) -> float:
    """Two-sided Boschloo p-value: all tables in fractions, 4,001 common proportions."""
    p = np.linspace(0, 1, 4001)[:, None]
    first, second = (stats.binom.pmf(np.arange(n + 1), n, p) for n in (n_1, n_2))
    largest = []
    for turn in (False, True):

        def value(k_1, k_2, turn=turn):
            return fisher(k_2, n_2, k_1, n_1) if turn else fisher(k_1, n_1, k_2, n_2)

        observed = value(x_1, x_2)
        extreme = [
            [value(k_1, k_2) <= observed for k_2 in range(n_2 + 1)] for k_1 in range(n_1 + 1)
        ]
        chance = np.einsum("pi,ij,pj->p", first, np.array(extreme, float), second)
        largest.append(chance.max())
    return min(1.0, 2 * min(largest))


# --- Boschloo's test ----------------------------------------------------------------------------


@pytest.mark.parametrize("row", reference("boschloo"), ids=lambda r: r["p_value"])
def test_printed_p_values(row):
    first = int(row["correct_1"]), int(row["n_1"])
    second = int(row["correct_2"]), int(row["n_2"])
    pair = first + second if row["side"] == "greater" else second + first
    assert _one_sided(*pair) == approx(row["p_value"], float(row["tolerance"])), row["source"]


def test_every_small_table_by_enumeration():
    for n_1, n_2 in ((1, 1), (1, 4), (3, 3), (5, 3)):
        for x_1 in range(n_1 + 1):
            for x_2 in range(n_2 + 1):
                expected = by_enumeration(x_1, n_1, x_2, n_2)
                assert boschloo_p_value(x_1, n_1, x_2, n_2) == approx(expected, 1e-6)


@pytest.mark.parametrize(
    "table", [(9, 12, 3, 10), (7, 15, 12, 15), (10, 11, 4, 18), (2, 20, 9, 14)]
)
def test_larger_tables_by_enumeration(table):
    found = boschloo_p_value(*table)
    expected = by_enumeration(*table)
    assert found == approx(expected, 1e-6)
    assert found >= expected - 1e-12  # the zoom finds what a grid can only approach from below


@settings(max_examples=60)
@given(groups(40))
def test_against_scipy(table):
    x_1, n_1, x_2, n_2 = table
    theirs = stats.boschloo_exact([[x_1, x_2], [n_1 - x_1, n_2 - x_2]], n=64).pvalue
    found = boschloo_p_value(*table)
    assert found == approx(theirs, 1e-4)
    assert found >= theirs - 1e-9  # both look for a maximum: ours must not be the lower one


@pytest.mark.parametrize("table", [(60, 100, 40, 100), (120, 250, 150, 260), (30, 200, 70, 300)])
def test_large_tables_against_scipy(table):
    x_1, n_1, x_2, n_2 = table
    theirs = stats.boschloo_exact([[x_1, x_2], [n_1 - x_1, n_2 - x_2]]).pvalue
    assert boschloo_p_value(*table) == pytest.approx(theirs, rel=1e-6)


@settings(max_examples=60)
@given(groups(60))
def test_symmetries(table):
    """It matters neither which group comes first nor whether right or wrong is counted."""
    x_1, n_1, x_2, n_2 = table
    p = boschloo_p_value(x_1, n_1, x_2, n_2)
    assert 0 < p <= 1
    assert boschloo_p_value(x_2, n_2, x_1, n_1) == p
    assert boschloo_p_value(n_1 - x_1, n_1, n_2 - x_2, n_2) == pytest.approx(p, rel=1e-7)


@settings(max_examples=60)
@given(groups(60))
def test_never_above_fisher(table):
    """Boschloo 1970: uniformly more powerful than Fisher's test."""
    x_1, n_1, x_2, n_2 = table
    assert _one_sided(*table) <= float(fisher(x_1, n_1, x_2, n_2)) + 1e-12


def test_ties_are_decided_in_integers():
    """With equal groups every table has a twin (wrong for right): both are as extreme."""
    n = 30
    for x_1, x_2 in ((20, 12), (15, 15), (29, 3), (3, 29)):
        twin = n - x_2, n - x_1
        edges = _FisherOrdering(n, n).boundary(x_1, x_2)
        assert edges[x_1] == x_2
        assert edges[twin[0]] == twin[1]


@pytest.mark.parametrize("sizes", [(8, 8), (12, 5), (20, 17)])
def test_the_boundary_is_fishers_ordering_in_fractions(sizes):
    n_1, n_2 = sizes
    for x_1, x_2 in ((n_1, 0), (n_1 - 2, 2), (n_1 // 2, n_2 // 2), (0, 1), (1, n_2)):
        edges = _FisherOrdering(n_1, n_2).boundary(x_1, x_2)
        observed = fisher(x_1, n_1, x_2, n_2)
        for k_1 in range(n_1 + 1):
            within = [fisher(k_1, n_1, k_2, n_2) <= observed for k_2 in range(n_2 + 1)]
            assert within == [k_2 <= edges[k_1] for k_2 in range(n_2 + 1)]


def test_nobody_and_everybody():
    assert boschloo_p_value(0, 5, 0, 9) == 1.0
    assert boschloo_p_value(5, 5, 9, 9) == 1.0
    # Barnard 1945, 3 of 3 against 0 of 3: one-sided (1/2)^6, from memory
    assert boschloo_p_value(3, 3, 0, 3) == approx(2 / 64, 1e-12)


# --- Newcombe's interval ------------------------------------------------------------------------


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['x_1']}-{r['n_1']}-{r['limit']}")
def test_printed_limits(row):
    table = (int(row[name]) for name in ("x_1", "n_1", "x_2", "n_2"))
    found = getattr(newcombe(*table, CONFIDENCE), row["limit"])
    assert found == approx(row["expected"], float(row["tolerance"])), row["source"]


@given(groups(300))
def test_swapping_the_groups_turns_the_sign_exactly(table):
    x_1, n_1, x_2, n_2 = table
    one, other = newcombe(x_1, n_1, x_2, n_2, CONFIDENCE), newcombe(x_2, n_2, x_1, n_1, CONFIDENCE)
    assert (one.low, one.high) == (-other.high, -other.low)


@given(groups(300))
def test_the_difference_lies_inside(table):
    x_1, n_1, x_2, n_2 = table
    interval = newcombe(*table, CONFIDENCE)
    assert interval.low <= x_1 / n_1 - x_2 / n_2 <= interval.high
    assert -1 - 1e-12 <= interval.low < interval.high <= 1 + 1e-12


# --- both together ------------------------------------------------------------------------------


def test_compare_groups():
    result = compare_groups(9, 12, 3, 10, CONFIDENCE)
    assert result.difference == approx(0.45, 1e-15)
    assert result.interval == newcombe(9, 12, 3, 10, CONFIDENCE)
    assert result.p_value == boschloo_p_value(9, 12, 3, 10)


@pytest.mark.parametrize(
    ("table", "code"),
    [
        ((0, 0, 3, 10), "tasters-too-few"),
        ((3, 10, 0, 0), "tasters-too-few"),
        ((11, 10, 3, 10), "correct-above-tasters"),
        ((3, 10, -1, 10), "correct-negative"),
        ((3, 5_000, 3, 5_001), "groups-too-large"),
    ],
)
def test_groups_that_cannot_be_compared(table, code):
    with pytest.raises(PanelError) as refusal:
        compare_groups(*table, CONFIDENCE)
    assert refusal.value.code == code
