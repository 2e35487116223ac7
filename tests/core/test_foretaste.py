"""Simulated evenings: made by the plan's own model, judged by its own rule, counted exactly."""

from decimal import Decimal
from random import Random
from statistics import NormalDist

import pytest
from scipy.stats import binom

from panel.core import foretaste as room
from panel.core.foretaste import EVENINGS, Told, Truth
from panel.core.methods import METHODS
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.wording.foretaste import say_evening, say_how_often, say_truth
from tests.kinds import FORCED


def plan(**more):
    return Plan(**{"method": "triangle", "tasters": 36, **more})


def foretaste(planned, seed):
    return room.foretaste(planned, Random(seed).random)


def world(tasted, truth):
    return next(one for one in tasted.evenings if one.truth is truth)


def test_no_tasters_no_foretaste():
    assert foretaste(plan(tasters=0), "a") is None


def test_who_is_expected_counts_and_not_who_is_planned():
    tasted = foretaste(plan(expected=20), "a")
    assert {len(one.tasters) for one in tasted.evenings} == {20}


@pytest.mark.parametrize(("method", "chance"), [("triangle", 1 / 3), ("duo-trio", 1 / 2)])
def test_how_often_it_is_shown_is_the_exact_power(method, chance):
    """By scipy's binomial: P(X >= critical) at chance, and at pc = chance + pd (1 - chance)."""
    tasted = foretaste(plan(method=method, pd=Decimal("0.3")), "a")
    needed = tasted.rule.turnout.decisive
    for one in tasted.evenings:
        pc = chance + float(one.pd) * (1 - chance)
        assert one.shown == pytest.approx(binom.sf(needed - 1, 36, pc), rel=1e-9)
    assert world(tasted, Truth.NONE).shown <= 0.05
    assert world(tasted, Truth.PLANNED).pd == Decimal("0.3")


def test_with_two_sides_both_ends_decide():
    """By scipy: two symmetric tails of the binomial at one half."""
    tasted = foretaste(plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2), "a")
    needed = tasted.rule.turnout.decisive
    both = binom.sf(needed - 1, 36, 0.5) + binom.cdf(36 - needed, 36, 0.5)
    assert world(tasted, Truth.NONE).shown == pytest.approx(both, rel=1e-9)
    assert tasted.rule.decides(needed)
    assert tasted.rule.decides(36 - needed)
    assert not tasted.rule.decides(18)


def test_alike_is_shown_by_few_right_answers():
    tasted = foretaste(plan(aim=Aim.SIMILARITY), "a")
    most = tasted.rule.turnout.decisive
    assert tasted.rule.decides(most)
    assert not tasted.rule.decides(most + 1)
    assert world(tasted, Truth.PLANNED).shown <= 0.2
    assert world(tasted, Truth.NONE).shown > world(tasted, Truth.CLEAR).shown


def test_so_few_that_nothing_decides():
    tasted = foretaste(plan(tasters=2), "a")
    assert all(one.shown == 0 for one in tasted.evenings)
    said = say_evening(tasted.evenings[0], tasted.rule)
    assert str(said[-1]) == "So few tasters decide nothing, whatever they say."


def test_the_same_seed_tells_the_same_evenings_and_another_others():
    assert foretaste(plan(), "a") == foretaste(plan(), "a")
    assert foretaste(plan(), "a") != foretaste(plan(), "b")


def test_the_simulated_share_is_what_the_plan_says():
    """Over 200 evenings the mean count lies within 4.5 standard errors of n pc."""
    counts = {truth: [] for truth in Truth}
    for seed in range(5):
        for one in foretaste(plan(), str(seed)).evenings:
            assert len(one.counts) == EVENINGS
            counts[one.truth] += one.counts
    for one in foretaste(plan(), "any").evenings:
        pc = 1 / 3 + float(one.pd) * 2 / 3
        many = counts[one.truth]
        error = (36 * pc * (1 - pc) / len(many)) ** 0.5
        assert abs(sum(many) / len(many) - 36 * pc) < 4.5 * error
    assert NormalDist().cdf(-4.5) < 4e-6


def test_the_taste_of_an_evening_adds_up():
    for one in foretaste(plan(), "a").evenings:
        assert one.right == one.of(Told.KNEW) + one.of(Told.LUCK)
        assert sum(one.of(told) for told in Told) == 36
    assert world(foretaste(plan(), "a"), Truth.NONE).of(Told.KNEW) == 0


@pytest.mark.parametrize("method", FORCED)
def test_every_method_and_aim_has_words_for_every_world(method):
    for aim in METHODS[method].aims:
        tasted = foretaste(plan(method=method, aim=aim, tasters=24), "a")
        said = [
            str(sentence)
            for one in tasted.evenings
            for sentence in (
                say_truth(one, tasted.rule),
                *say_evening(one, tasted.rule),
                say_how_often(one, tasted.rule),
            )
        ]
        assert all(said)
        assert len({str(say_truth(one, tasted.rule)) for one in tasted.evenings}) == 4
        for banned in ("no difference", "proved", " 0 of 100", "%("):
            assert not any(banned in sentence for sentence in said)


def test_all_can_tell_is_no_error():
    tasted = foretaste(plan(pd=Decimal(1)), "a")
    assert world(tasted, Truth.CLEAR).shown == 1.0
    assert world(tasted, Truth.CLEAR).right == 36
