"""Paired scores: exact tests against brute force and scipy, the effect's interval, Holm."""

from decimal import Decimal
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from panel.core.statistics import effect_within, holm, paired_permutation, wilcoxon

ALPHA = Decimal("0.05")
LEVEL = Decimal("0.95")
FEW = st.lists(st.integers(-8, 8), min_size=1, max_size=9)

# Darwin's maize, crossed minus self-fertilised, in eighths of an inch (Fisher 1935, The Design of
# Experiments, section 21): 863 of 32,768 arrangements reach the observed sum, on one side.
MAIZE = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]


def signs(differences: list[int], weigh) -> Fraction:
    """Two-sided, every arrangement of signs written out."""
    weights = weigh([abs(one) for one in differences])
    observed = abs(sum(w if d > 0 else -w for w, d in zip(weights, differences, strict=True)))
    turns = list(product((1, -1), repeat=len(weights)))
    far = sum(
        abs(sum(w * s for w, s in zip(weights, turn, strict=True))) >= observed for turn in turns
    )
    return Fraction(far, len(turns))


def ranked(sizes: list[int]) -> list[float]:
    some = [size for size in sizes if size]
    ranks = iter(stats.rankdata(some)) if some else iter(())
    return [next(ranks) if size else 0.0 for size in sizes]


@given(FEW)
def test_every_arrangement_of_signs(differences):
    found = paired_permutation(differences, ALPHA)
    assert found.p_value == pytest.approx(float(signs(differences, lambda d: d)), rel=1e-12)
    assert found.exact
    assert found.statistic == sum(differences)
    assert found.zeros == differences.count(0)


@given(FEW)
def test_every_arrangement_of_signed_ranks(differences):
    found = wilcoxon(differences, ALPHA)
    assert found.p_value == pytest.approx(float(signs(differences, ranked)), rel=1e-12)


def test_darwins_maize():
    """Fisher's counts, read in many textbooks (from memory): 1,726 of 32,768 on both sides."""
    found = paired_permutation(MAIZE, ALPHA)
    assert found.statistic == 314
    assert found.p_value == pytest.approx(1726 / 32768, rel=1e-12)
    assert not found.significant
    student = stats.ttest_1samp(MAIZE, 0)
    assert student.statistic == pytest.approx(2.148, abs=5e-4)  # Fisher: t = 2.148
    effect = effect_within(MAIZE, LEVEL)
    assert effect.effect == pytest.approx(student.statistic / 15**0.5)


@given(st.lists(st.integers(1, 60), min_size=2, max_size=25, unique=True), st.data())
@settings(deadline=None, max_examples=40)
def test_wilcoxon_without_ties_by_scipy(sizes, data):
    differences = [one if data.draw(st.booleans()) else -one for one in sizes]
    known = stats.wilcoxon(differences, method="exact")
    assert wilcoxon(differences, ALPHA).p_value == pytest.approx(known.pvalue, rel=1e-9)


@given(st.lists(st.integers(-20, 20), min_size=3, max_size=10))
@settings(deadline=None, max_examples=25)
def test_the_randomisation_test_by_scipy(differences):
    known = stats.permutation_test(
        (np.array(differences), np.zeros(len(differences))),
        lambda x, y, axis: np.sum(x - y, axis=axis),
        permutation_type="samples",
        vectorized=True,
        n_resamples=np.inf,
    )
    assert paired_permutation(differences, ALPHA).p_value == pytest.approx(known.pvalue, rel=1e-9)


def test_hundreds_of_tasters_are_counted_and_thousands_take_the_normal_curve():
    rng = np.random.default_rng(3)
    some = rng.integers(-6, 8, 300).tolist()
    found = paired_permutation(some, ALPHA)
    assert found.exact
    many = rng.integers(-40, 42, 4000).tolist()
    rough = paired_permutation(many, ALPHA)
    assert not rough.exact
    z = abs(sum(many)) / sum(one**2 for one in many) ** 0.5
    assert rough.p_value == pytest.approx(2 * stats.norm.sf(z))
    normal = 2 * stats.norm.sf(abs(sum(some)) / sum(one**2 for one in some) ** 0.5)
    assert found.p_value == pytest.approx(normal, abs=0.01)


def test_a_p_value_that_equals_alpha_reaches_it():
    five = [1, 2, 3, 4, 5]
    assert paired_permutation(five, Fraction(1, 16)).significant
    assert wilcoxon(five, Fraction(1, 16)).significant
    assert not wilcoxon(five, Fraction(1, 16) - Fraction(1, 10**20)).significant


@given(FEW)
def test_turned_round_nothing_changes_but_the_sign(differences):
    back = [-one for one in differences]
    for test in (paired_permutation, wilcoxon):
        one, other = test(differences, ALPHA), test(back, ALPHA)
        assert (one.p_value, one.statistic) == (other.p_value, -other.statistic)


def test_no_difference_at_all_proves_nothing():
    for test in (paired_permutation, wilcoxon):
        found = test([0, 0, 0], ALPHA)
        assert (found.p_value, found.significant, found.zeros) == (1.0, False, 3)
    effect = effect_within([2, 2, 2], LEVEL)
    assert (effect.mean, effect.mean_interval, effect.effect) == (2.0, None, None)
    assert effect_within([4], LEVEL).mean_interval is None
    with pytest.raises(ValueError, match="at least one taster"):
        effect_within([], LEVEL)


@given(st.lists(st.integers(-9, 9), min_size=3, max_size=60).filter(lambda d: len(set(d)) > 1))
@settings(deadline=None, max_examples=60)
def test_the_ends_of_the_effect_by_scipy(differences):
    """At each end of the interval the observed t is just as far out as the confidence allows."""
    effect = effect_within(differences, LEVEL)
    n = len(differences)
    known = stats.ttest_1samp(differences, 0)
    low, high = known.confidence_interval(0.95)
    assert (effect.mean_interval.low, effect.mean_interval.high) == pytest.approx((low, high))
    t = known.statistic
    ends = effect.effect_interval
    assert ends.low <= effect.effect <= ends.high
    for end, tail in ((ends.low, 0.975), (ends.high, 0.025)):
        assert stats.nct.cdf(t, n - 1, end * n**0.5) == pytest.approx(tail, abs=1e-5)


def test_the_effects_interval_covers_as_often_as_it_says():
    """600 panels of 12 with a true effect of 0.5; the share covered within 3 standard errors."""
    rng = np.random.default_rng(11)
    covered = 0
    for _ in range(600):
        sample = np.round(rng.normal(500, 1000, 12)).astype(int).tolist()
        ends = effect_within(sample, LEVEL).effect_interval
        covered += ends.low <= 0.5 <= ends.high
    assert covered / 600 == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / 600) ** 0.5)


def test_holms_example():
    """Four p-values at 5 %: 0.01 × 4, 0.02 × 3, 0.03 × 2, 0.04 → 0.04, 0.06, 0.06, 0.06."""
    assert holm([0.04, 0.01, 0.03, 0.02]) == pytest.approx((0.06, 0.04, 0.06, 0.06))
    assert holm([]) == ()
    assert holm([0.7, 0.8]) == (1.0, 1.0)
    with pytest.raises(ValueError, match="between 0 and 1"):
        holm([1.2])


@given(st.lists(st.floats(0, 1), min_size=1, max_size=8))
def test_holm_rejects_just_what_stepping_down_rejects(p_values):
    """Holm 1979: through the p-values from the smallest; stop at the first above alpha / left."""
    alpha, rejected = 0.05, set()
    for rank, at in enumerate(sorted(range(len(p_values)), key=p_values.__getitem__)):
        if p_values[at] * (len(p_values) - rank) > alpha:
            break
        rejected.add(at)
    assert {at for at, p in enumerate(holm(p_values)) if p <= alpha} == rejected
