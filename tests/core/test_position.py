"""The position test against scipy.stats, and its rate of false alarms measured."""

import random
from dataclasses import replace
from itertools import cycle, islice

import pytest
from scipy import stats

from panel.core.methods import METHODS
from panel.core.names import Outcome
from panel.core.outcomes import Judged, outcomes_of
from panel.core.plan import Plan
from panel.core.position import position_effect
from tests.results import comparison, evening, right_and_wrong

ONE: Judged = outcomes_of(
    *vars(evening(comparison(), right_and_wrong("blue", 1, 1))).values()
).judged[0]


def ballots(plan: Plan, picks: list[tuple[str, tuple[int, ...]]]) -> list[Judged]:
    judge = METHODS[plan.method].judge
    return [
        replace(ONE, order=order, picked=picked, outcome=judge(plan, order, picked))
        for order, picked in picks
    ]


TRIANGLE = Plan(method="triangle")
PREFERENCE = Plan(method="paired-preference", sides=2)


def test_even_choices_are_no_effect():
    orders = METHODS["triangle"].orders(TRIANGLE)
    picks = [(order, (position,)) for order in orders for position in (1, 2, 3)]
    effect = position_effect(TRIANGLE, ballots(TRIANGLE, picks))
    assert [choice.expected for choice in effect.choices] == pytest.approx([6, 6, 6])
    assert effect.p == pytest.approx(1)
    assert effect.favoured is None


def test_right_answers_in_one_place_are_no_favoured_place():
    """Ten trays with the odd cup first, all right: the cup was right, not the place."""
    effect = position_effect(TRIANGLE, ballots(TRIANGLE, [("BAA", (1,))] * 10))
    assert effect.favoured is None


def test_a_favoured_first_cup_in_pairs_by_scipy():
    """10 of 12 chose the first cup: the exact two-sided binomial test of scipy.stats."""
    picks = [(order, (1,)) for order in ("AB", "BA") * 5] + [("AB", (2,)), ("BA", (2,))]
    effect = position_effect(PREFERENCE, ballots(PREFERENCE, picks))
    assert effect.p == pytest.approx(stats.binomtest(10, 12, 0.5).pvalue, rel=1e-9)
    assert effect.favoured is not None
    assert effect.favoured.positions == (1,)
    assert (effect.favoured.chosen, effect.favoured.expected) == (10, pytest.approx(6))


def test_large_tables_use_the_chi_square_tail_of_scipy():
    orders = list(islice(cycle(METHODS["triangle"].orders(TRIANGLE)), 240))
    picks = [(order, (1 if n % 2 else n % 3 + 1,)) for n, order in enumerate(orders)]
    effect = position_effect(TRIANGLE, ballots(TRIANGLE, picks))
    chosen = [choice.chosen for choice in effect.choices]
    expected = [choice.expected for choice in effect.choices]
    assert effect.p == pytest.approx(stats.chisquare(chosen, expected).pvalue, rel=1e-9)


def test_a_tetrad_counts_a_pair_and_the_other_pair_as_one_answer():
    plan = Plan(method="tetrad")
    picks = [("AABB", (3, 4)), ("ABAB", (1, 2)), ("ABBA", (2, 4))]
    effect = position_effect(plan, ballots(plan, picks))
    assert [(choice.positions, choice.chosen) for choice in effect.choices] == [
        ((1, 2), 2),
        ((1, 3), 1),
        ((1, 4), 0),
    ]
    named = Plan(method="tetrad-specified", attribute="bitter", stronger="B")
    assert len(position_effect(named, ballots(named, picks)).choices) == 6


def test_nobody_is_no_effect():
    assert position_effect(TRIANGLE, []).p == 1


@pytest.mark.parametrize(("tasters", "discriminators"), [(12, 0.0), (24, 0.3), (36, 0.6)])
def test_without_a_favoured_place_it_seldom_speaks(tasters, discriminators):
    """Simulated from a fixed seed: nominally at most 5 in 100; 3.29 standard errors allowed."""
    rng, runs, alarms = random.Random(20260314), 400, 0
    orders = METHODS["triangle"].orders(TRIANGLE)
    for _ in range(runs):
        picks = []
        for order in islice(cycle(orders), tasters):
            odd = next(place for place in (1, 2, 3) if order.count(order[place - 1]) == 1)
            picks.append((order, (odd if rng.random() < discriminators else rng.randint(1, 3),)))
        alarms += position_effect(TRIANGLE, ballots(TRIANGLE, picks)).favoured is not None
    assert alarms <= runs * 0.05 + 3.29 * (runs * 0.05 * 0.95) ** 0.5


def test_a_favoured_place_is_found():
    """Two in three take the middle cup unseen: found in most panels of 36."""
    rng, found = random.Random(7), 0
    for _ in range(50):
        picks = [
            (order, (2 if rng.random() < 0.5 else rng.randint(1, 3),))
            for order in islice(cycle(METHODS["triangle"].orders(TRIANGLE)), 36)
        ]
        favoured = position_effect(TRIANGLE, ballots(TRIANGLE, picks)).favoured
        found += favoured is not None and favoured.positions == (2,)
    assert found > 40


def test_no_preference_is_left_out():
    none = replace(ONE, picked=(), outcome=Outcome.NO_CHOICE, order="AB")
    assert position_effect(PREFERENCE, [none]).ballots == 0
