"""Everything said of one count, as a whole."""

import json
from dataclasses import asdict
from decimal import Decimal
from fractions import Fraction

import pytest
from scipy import stats

from panel.core.errors import Fault, PanelError
from panel.core.statistics import (
    CHANCE,
    SimilarityLimit,
    binomial_test,
    d_prime,
    discriminators,
    pc_at_pd,
    proportion,
    proportion_correct,
    similarity_test,
    tally_count,
)
from tests.core.statistics.oracle import THIRD, approx, tail

ALPHA, CONFIDENCE = Decimal("0.05"), Decimal("0.95")


@pytest.mark.parametrize("link", sorted(CHANCE))
@pytest.mark.parametrize(("correct", "tasters"), [(0, 12), (4, 12), (9, 12), (12, 12), (31, 60)])
def test_it_is_made_of_its_parts(link, correct, tasters):
    chance = CHANCE[link]
    tally = tally_count(correct, tasters, link)
    test = binomial_test(correct, tasters, chance, ALPHA)
    assert (tally.p_value, tally.critical_number) == (test.p_value, test.critical_number)
    assert tally.significant == test.significant
    share = proportion(correct, tasters, CONFIDENCE)
    assert (tally.proportion_correct, tally.interval) == (share.value, share.interval)
    telling = discriminators(correct, tasters, chance, CONFIDENCE)
    assert tally.discriminators == telling.value
    assert tally.discriminators_interval == telling.interval
    distance = d_prime(correct, tasters, link, CONFIDENCE)
    assert (tally.d_prime, tally.d_prime_interval) == (distance.value, distance.interval)
    assert tally.confidence == tally.interval.confidence == 0.95


def test_twenty_of_thirty_six():
    """Triangle: the test in fractions, limits by scipy, d-prime through its own curve."""
    tally = tally_count(20, 36, "triangle")
    assert tally.p_value == pytest.approx(float(tail(20, 36, THIRD)), rel=1e-12)
    assert tail(18, 36, THIRD) <= Fraction(1, 20) < tail(17, 36, THIRD)
    assert (tally.critical_number, tally.significant) == (18, True)
    assert tally.proportion_correct == 20 / 36
    limits = stats.binomtest(20, 36).proportion_ci(0.95, method="exact")
    assert tally.interval.low == approx(limits.low, 1e-12)
    assert tally.interval.high == approx(limits.high, 1e-12)
    assert tally.discriminators == approx(1 / 3, 1e-15)
    assert tally.d_prime is not None
    assert proportion_correct("triangle", tally.d_prime) == approx(20 / 36, 1e-14)


def test_everybody_right_has_no_d_prime():
    tally = tally_count(12, 12, "triangle")
    assert (tally.d_prime, tally.d_prime_interval.high) == (None, None)
    assert tally.d_prime_interval.low is not None
    assert tally.d_prime_interval.low > 0


def test_two_sides():
    """The larger count is tested, the sign stays with the count that was given."""
    few, many = (tally_count(x, 40, "2-afc", sides=2) for x in (12, 28))
    assert few.p_value == many.p_value
    assert few.critical_number == many.critical_number == 27
    assert few.significant
    assert many.significant
    assert few.discriminators == -many.discriminators == -0.4
    assert few.d_prime is not None
    assert few.d_prime < 0
    assert not tally_count(12, 40, "2-afc").significant


def test_similarity():
    limit = SimilarityLimit(pc_at_pd(THIRD, Decimal("0.3")), ALPHA)
    for correct in (5, 20, 31, 32, 60):
        tally = tally_count(correct, 73, "triangle", limit=limit)
        test = similarity_test(correct, 73, THIRD, limit)
        assert tally.p_value == test.p_value
        assert tally.critical_number == test.max_correct == 31
        assert tally.significant == (correct <= 31)
        assert tally.proportion_correct == correct / 73


def test_too_few_tasters_for_any_verdict():
    tally = tally_count(2, 2, "triangle")
    assert (tally.critical_number, tally.significant) == (None, False)
    assert tally.p_value == approx(1 / 9, 1e-15)


@pytest.mark.parametrize("link", sorted(CHANCE))
def test_only_plain_finite_numbers(link):
    """Every count from none to all can be written as JSON, and holds Python's own numbers."""
    for tasters in (1, 2, 3, 17, 1000, 100_000):
        for correct in {0, 1, tasters // 3, tasters // 2, tasters - 1, tasters}:
            words = asdict(tally_count(correct, tasters, link))
            assert json.loads(json.dumps(words, allow_nan=False)) == words
            for value in words.values():
                assert type(value) in (int, float, bool, dict, type(None))


@pytest.mark.parametrize(
    ("correct", "tasters", "code", "field"),
    [
        (-1, 10, "correct-negative", "correct"),
        (11, 10, "correct-above-tasters", "correct"),
        (0, 0, "tasters-too-few", "tasters"),
        (5, 100_001, "tasters-too-many", "tasters"),
    ],
)
def test_counts_that_cannot_be(correct, tasters, code, field):
    with pytest.raises(PanelError) as refusal:
        tally_count(correct, tasters, "triangle")
    error = refusal.value
    assert (error.code, error.field, error.fault) == (code, field, Fault.INPUT)


def test_two_sides_need_a_coin():
    with pytest.raises(ValueError, match="two sides"):
        tally_count(5, 10, "triangle", sides=2)
    assert tally_count(5, 10, "2-afc", sides=2).p_value == 1.0
