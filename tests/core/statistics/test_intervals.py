"""Intervals of one proportion, and what is carried through to discriminators and d-prime."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import (
    CHANCE,
    IntervalMethod,
    clopper_pearson,
    d_prime,
    discriminators,
    pc_at_pd,
    proportion,
    proportion_correct,
    wilson,
)
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, approx, reference, tail

CONFIDENCE = Decimal("0.95")
METHODS = {"clopper_pearson": clopper_pearson, "wilson": wilson}
ROWS = [row for row in reference("intervals") if row["method"] in METHODS]
COUNTS = st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
CONFIDENCES = st.sampled_from([Decimal("0.8"), Decimal("0.95"), Decimal("0.99")])


@pytest.mark.parametrize(
    "row", ROWS, ids=lambda r: f"{r['method']}-{r['x_1']}-{r['n_1']}-{r['limit']}"
)
def test_printed_limits(row):
    interval = METHODS[row["method"]](int(row["x_1"]), int(row["n_1"]), CONFIDENCE)
    found = getattr(interval, row["limit"])
    assert found == approx(row["expected"], float(row["tolerance"])), row["source"]


@given(COUNTS, CONFIDENCES)
def test_against_scipy(count, confidence):
    for ours, name in ((clopper_pearson, "exact"), (wilson, "wilson")):
        interval = ours(*count, confidence)
        theirs = stats.binomtest(*count).proportion_ci(float(confidence), method=name)
        assert interval.low == approx(theirs.low, 1e-9)
        assert interval.high == approx(theirs.high, 1e-9)
        assert interval.confidence == float(confidence)


@given(COUNTS, CONFIDENCES)
def test_the_estimate_lies_inside(count, confidence):
    for ours in (clopper_pearson, wilson):
        interval = ours(*count, confidence)
        assert 0 <= interval.low <= count[0] / count[1] <= interval.high <= 1
        assert interval.low < interval.high


def test_clopper_pearson_by_its_definition():
    """At each limit the tail beyond the count has half of what is left of the confidence."""
    for n in (1, 4, 12, 30):
        for x in range(n + 1):
            interval = clopper_pearson(x, n, CONFIDENCE)
            if x > 0:
                assert float(tail(x, n, Fraction(interval.low))) == approx(0.025, 1e-10)
            if x < n:
                below = 1 - tail(x + 1, n, Fraction(interval.high))
                assert float(below) == approx(0.025, 1e-10)


def test_ends_are_exact():
    for n in (1, 7, 36, 100_000):
        assert clopper_pearson(0, n, CONFIDENCE).low == 0.0 == wilson(0, n, CONFIDENCE).low
        assert clopper_pearson(n, n, CONFIDENCE).high == 1.0 == wilson(n, n, CONFIDENCE).high


def test_every_interval_says_how_it_was_made():
    assert clopper_pearson(3, 9, CONFIDENCE).method is IntervalMethod.CLOPPER_PEARSON
    assert wilson(3, 9, CONFIDENCE).method is IntervalMethod.WILSON
    for estimate in (proportion(3, 9, CONFIDENCE), discriminators(3, 9, THIRD, CONFIDENCE)):
        assert estimate.interval.method is IntervalMethod.CLOPPER_PEARSON
    assert d_prime(3, 9, "triangle", CONFIDENCE).interval.method is IntervalMethod.CLOPPER_PEARSON


# --- discriminators -------------------------------------------------------------------------------


def test_proportion_correct_at_discriminators():
    """ISO 4120:2004 (note seen in a stored copy): pc = pd + (1/3)(1 - pd)."""
    pd = Decimal("0.3")
    assert pc_at_pd(THIRD, pd) == Fraction(3, 10) + Fraction(1, 3) * Fraction(7, 10)
    assert pc_at_pd(HALF, Decimal("0.5")) == Fraction(3, 4)  # p_max of ISO 5495
    assert pc_at_pd(SIXTH, Decimal(1)) == 1


def test_discriminators_by_hand():
    """20 of 36: (20/36 - 1/3) / (2/3) = 1/3. At chance exactly 0, below it negative."""
    assert discriminators(20, 36, THIRD, CONFIDENCE).value == pytest.approx(1 / 3, abs=1e-15)
    assert discriminators(12, 36, THIRD, CONFIDENCE).value == 0.0
    assert discriminators(0, 36, THIRD, CONFIDENCE).value == -0.5
    assert discriminators(0, 36, SIXTH, CONFIDENCE).value == pytest.approx(-0.2, abs=1e-15)
    assert discriminators(36, 36, THIRD, CONFIDENCE).value == 1.0


@given(COUNTS, st.sampled_from([HALF, THIRD, SIXTH]))
def test_discriminators_are_the_proportion_on_another_scale(count, chance):
    estimate = discriminators(*count, chance, CONFIDENCE)
    plain = proportion(*count, CONFIDENCE)
    assert estimate.interval.low <= estimate.value <= estimate.interval.high
    for scaled, share in (
        (estimate.value, plain.value),
        (estimate.interval.low, plain.interval.low),
        (estimate.interval.high, plain.interval.high),
    ):
        assert float(chance) + scaled * float(1 - chance) == approx(share, 1e-12)


# --- d-prime --------------------------------------------------------------------------------------


@given(COUNTS, st.sampled_from(sorted(CHANCE)))
def test_d_prime_is_the_proportion_on_another_scale(count, link):
    """Each end gives back its proportion, 0 stands for chance and below, None for everybody."""
    estimate = d_prime(*count, link, CONFIDENCE)
    plain = proportion(*count, CONFIDENCE)
    for d, share in (
        (estimate.value, plain.value),
        (estimate.interval.low, plain.interval.low),
        (estimate.interval.high, plain.interval.high),
    ):
        if share == 1:
            assert d is None
        elif Fraction(share) <= CHANCE[link]:
            assert d == 0.0
        else:
            assert d is not None
            assert proportion_correct(link, d) == approx(share, 1e-12)


def test_never_symmetric_near_chance():
    """13 of 36 in a triangle: nothing found, and the interval begins at 0, not below."""
    estimate = d_prime(13, 36, "triangle", CONFIDENCE)
    assert estimate.interval.low == 0.0
    assert estimate.value is not None
    assert estimate.interval.high is not None
    assert estimate.interval.high > 2 * estimate.value


@given(COUNTS)
def test_the_sign_turns_with_the_drink(count):
    x, n = count
    one, other = (d_prime(k, n, "2-afc", CONFIDENCE, 2) for k in (x, n - x))

    def turned(d):
        return None if d is None else approx(-d, 1e-9)

    assert one.value == turned(other.value)
    assert one.interval.low == turned(other.interval.high)
    assert one.interval.high == turned(other.interval.low)


def test_one_sided_paired_does_not_go_below_zero():
    assert d_prime(10, 40, "2-afc", CONFIDENCE).value == 0.0
    two = d_prime(10, 40, "2-afc", CONFIDENCE, 2)
    assert two.value == approx(2**0.5 * stats.norm.ppf(0.25), 1e-12)
    nobody = d_prime(0, 40, "2-afc", CONFIDENCE, 2)
    assert nobody.value is None
    assert nobody.interval.low is None
    assert nobody.interval.high is not None
    assert nobody.interval.high < 0


def test_two_sides_of_a_triangle():
    with pytest.raises(ValueError, match="two sides"):
        d_prime(10, 40, "triangle", CONFIDENCE, 2)


@pytest.mark.parametrize("confidence", ["0", "1", "1.5", "-0.95", "NaN"])
def test_a_confidence_that_cannot_be(confidence):
    with pytest.raises(PanelError) as refusal:
        clopper_pearson(3, 9, Decimal(confidence))
    assert refusal.value.field == "confidence"
