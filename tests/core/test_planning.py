"""Planning answers against the standards' tables and against plain-Python binomials."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.planning import looking_often, outlook, tasters_needed
from panel.core.recommendation import easier, recommend


def tail(x: int, n: int, p: Fraction) -> Fraction:
    """P(X >= x), by the definition."""
    return sum((comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(x, n + 1)), Fraction(0))


def triangle(**changes) -> Plan:
    return replace(Plan(method="triangle", tasters=24, pd=Decimal("0.3")), **changes)


def test_a_kitchen_table_test_speaks_of_one_taster() -> None:
    told = outlook(Plan(method="triangle", tasters=7), one_taster=True)
    assert str(told.verdict).startswith("5 right of 7 trays would show that this one taster")
    assert told.needed is None
    few = outlook(Plan(method="triangle", tasters=2), one_taster=True)
    assert "too few" in str(few.verdict)


def test_one_taster_s_trays_are_told_by_what_is_asked() -> None:
    """Similarity turns the count round: by hand the most right of 40 with P(X <= x) <= beta."""
    alike = Plan(method="triangle", aim=Aim.SIMILARITY, pd=Decimal("0.3"), tasters=40)
    pc = Fraction(1, 3) + Fraction(3, 10) * Fraction(2, 3)
    most = max(x for x in range(40) if 1 - tail(x + 1, 40, pc) <= Fraction(1, 5))
    said = str(outlook(alike, one_taster=True).verdict)
    assert said.startswith(f"At most {most} right of 40 trays would show that this one taster")
    few = str(outlook(replace(alike, tasters=3), one_taster=True).verdict)
    assert "no count of right ones would show" in few
    liked = Plan(method="paired-preference", aim=Aim.PREFERENCE, tasters=7, sides=2)
    assert "what this one likes better" in str(outlook(liked, one_taster=True).verdict)


def test_first_number_of_a_published_table():
    """ISO 4120:2004 Table A.3 as recalled: alpha 0.05, beta 0.20, pd 30 % needs 40; holding 42."""
    needed = outlook(triangle()).needed
    assert needed is not None
    assert (needed.first_tasters, needed.holding_tasters) == (40, 42)


def test_triangle_and_tetrad_at_d_prime_one():
    """Ennis & Jesionka 2011: a tetrad needs about a third (alpha 0.05, power 0.8)."""
    plan = triangle(pd=None, d_prime=Decimal(1))
    table = {need.method: need for need in recommend(plan).table}
    assert table["triangle"].first_tasters == 202
    assert table["triangle"].tasters == 220
    assert (table["tetrad"].first_tasters, table["tetrad"].tasters) == (61, 65)


def test_planned_turnout_by_the_definition():
    """24 tasters, triangle: 13 right answers decide (ISO 4120 Table A.1: 24, 0.05 gives 13)."""
    now = outlook(triangle()).planned
    assert now is not None
    assert now.decisive == 13
    pc = Fraction(1, 3) + Fraction(3, 10) * Fraction(2, 3)
    assert now.power == pytest.approx(float(tail(13, 24, pc)), abs=1e-12)


def test_smallest_difference_has_the_power_it_promises():
    now = outlook(triangle()).planned
    assert now is not None
    assert now.smallest_pd is not None
    pc = Fraction(1, 3) + Fraction(now.smallest_pd) * Fraction(2, 3)
    assert float(tail(13, 24, pc)) == pytest.approx(0.8, abs=1e-9)


def test_too_few_people_are_told_what_they_can_find():
    told = outlook(triangle())
    assert not told.can_answer
    assert str(told.verdict) == (
        "Not reliably: with 24 tasters a difference of this size is found only 55% of the time. "
        "If nothing is found, that will not mean that there is nothing."
    )
    assert [str(one) for one in told.advice] == [
        "42 tasters are needed; from there on more tasters never make it worse. (Tables print 40, "
        "the first number that is enough.)",
        "24 tasters find a difference 80% of the time if at least 41% of people can truly tell "
        "the drinks apart.",
        "The tallies stay shut until closing: whoever looked after every ballot and stopped when "
        "the mark is reached would find a difference in 14% of panels of 24 that cannot tell at "
        "all, where 5% are accepted.",
    ]


def test_enough_people_are_told_yes():
    told = outlook(triangle(tasters=42))
    assert told.can_answer
    assert str(told.verdict).startswith("Yes, this can be answered: with 42 tasters")


def test_the_turnout_really_expected_decides():
    told = outlook(triangle(tasters=42, expected=30))
    assert not told.can_answer
    assert told.expected is not None
    assert told.expected.tasters == 30
    assert any("You plan 42 and expect 30" in str(one) for one in told.advice)


def test_two_tasters_get_a_count_and_no_verdict():
    """(1/3)^2 = 0.11 is above 0.05: even both right convinces nobody."""
    told = outlook(triangle(tasters=2))
    assert told.planned is not None
    assert told.planned.decisive is None
    assert "a count and no verdict" in str(told.verdict)


def test_three_tasters_need_all_right():
    """(1/3)^3 = 0.037 is within 0.05."""
    assert "only all of them right would do" in str(outlook(triangle(tasters=3)).verdict)


def test_without_tasters_the_need_is_said():
    told = outlook(triangle(tasters=0))
    assert told.planned is None
    assert str(told.verdict).startswith("42 tasters are needed")


def test_a_hopeless_plan_is_said_in_words():
    told = outlook(triangle(pd=Decimal("0.001")))
    assert told.needed is None
    assert any("No panel is large enough" in str(one) for one in told.advice)


@pytest.mark.parametrize("pd", [None, Decimal("0.3")])
def test_one_difference_exactly(pd):
    d_prime = None if pd is None else Decimal(1)
    with pytest.raises(PanelError, match="not both"):
        outlook(triangle(pd=pd, d_prime=d_prime))


def test_similarity_below_chance_shows_nothing():
    """ISO 4120:2004, 8.2: no similarity where the count allowed lies below n/3."""
    told = outlook(triangle(aim=Aim.SIMILARITY, tasters=9, pd=Decimal("0.2"), beta=Decimal("0.05")))
    assert told.planned is not None
    assert told.planned.decisive is None


def test_similarity_needs_many_and_says_so():
    plan = triangle(aim=Aim.SIMILARITY, alpha=Decimal("0.2"), beta=Decimal("0.05"))
    told = outlook(replace(plan, tasters=60))
    assert told.can_answer
    assert told.planned is not None
    most = told.planned.decisive
    assert most is not None
    pc = Fraction(1, 3) + Fraction(3, 10) * Fraction(2, 3)
    assert 1 - tail(most + 1, 60, pc) <= Fraction(1, 20) < 1 - tail(most + 2, 60, pc)
    assert told.planned.power == pytest.approx(float(1 - tail(most + 1, 60, Fraction(1, 3))))


@given(
    name=st.sampled_from(["triangle", "duo-trio", "tetrad", "3-afc"]),
    aim=st.sampled_from([Aim.DIFFERENCE, Aim.SIMILARITY]),
    pd=st.sampled_from([Decimal("0.25"), Decimal("0.5")]),
    more=st.integers(0, 40),
)
def test_from_the_holding_number_on_the_answer_is_always_yes(name, aim, pd, more):
    plan = Plan(method=name, aim=aim, pd=pd, alpha=Decimal("0.05"), beta=Decimal("0.1"))
    needed = outlook(plan).needed
    assert needed is not None
    assert outlook(replace(plan, tasters=needed.holding_tasters + more)).can_answer
    assert not outlook(replace(plan, tasters=needed.holding_tasters - 1)).can_answer


def test_a_two_sided_method_is_planned_two_sided():
    """ISO 5495: two-sided at alpha needs what one-sided needs at alpha / 2."""
    two = Plan(method="paired", sides=2, pd=Decimal("0.4"))
    one = Plan(method="paired", sides=1, pd=Decimal("0.4"), alpha=Decimal("0.025"))
    assert outlook(two).needed == outlook(one).needed


# --- recommendation ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "lingers", "method"),
    [
        ({"tasters": 42}, False, "triangle"),
        ({"tasters": 0}, False, "triangle"),
        ({}, True, "duo-trio"),
        ({"tasters": 20, "pd": None, "d_prime": Decimal("1.8")}, False, "tetrad"),
        ({"attribute": "bitter"}, False, "paired"),
        ({"attribute": "bitter", "stronger": "B"}, False, "3-afc"),
        ({"attribute": "bitter", "stronger": "B"}, True, "paired"),
        ({"method": "paired-preference", "aim": Aim.PREFERENCE}, False, "paired-preference"),
        ({"method": "paired-preference", "aim": Aim.PREFERENCE}, True, "paired-preference"),
    ],
)
def test_what_is_recommended(changes, lingers, method):
    advised = recommend(triangle(**changes, lingers=lingers))
    assert advised.method == method
    assert method in {need.method for need in advised.table}


def test_an_unknown_direction_offers_no_directional_method():
    assert {need.method for need in recommend(triangle()).table} == {
        "triangle",
        "duo-trio",
        "tetrad",
        "two-out-of-five",
        "a-not-a",
        "a-not-a-both",
        "same-different",
    }


def test_five_cups_are_never_advised_and_carry_a_caution():
    """Not even where too few come for any test."""
    for lingers, word in ((False, "250 ml"), (True, "too many")):
        plan = triangle(tasters=3, pd=None, d_prime=Decimal(3), lingers=lingers)
        advised = recommend(plan)
        cautions = {need.method: need.caution for need in advised.table}
        assert word in str(cautions.pop("two-out-of-five"))
        assert set(cautions.values()) == {None}
        assert advised.method != "two-out-of-five"
        offered = easier(plan, advised)
        assert offered is None or offered.cups_each <= 4


def test_the_table_at_the_same_distance():
    """A known direction spares people: Green & Swets; the order of needs at any one distance."""
    plan = triangle(attribute="bitter", stronger="B", pd=None, d_prime=Decimal("1.5"))
    table = {need.method: need for need in recommend(plan).table}
    needs = {name: need.tasters or 0 for name, need in table.items()}
    assert needs["tetrad-specified"] < needs["3-afc"] < needs["triangle"]
    assert needs["tetrad"] < needs["triangle"] <= needs["duo-trio"] * 2
    assert table["triangle"].cups == 3 * needs["triangle"]


def test_beer_in_the_table_by_hand():
    """220 triangles: 36 sets of 9 cups of each beer and 4 orders more, at most 3 x 2 + 1 cups:

    36 x 9 + 7 = 331 cups of 50 ml and a tenth for spill: 18,205 ml.
    """
    plan = triangle(pd=None, d_prime=Decimal(1))
    table = {need.method: need for need in recommend(plan).table}
    assert table["triangle"].millilitres_each == 18205


def test_own_method_keeps_its_own_difference():
    plan = triangle(pd=Decimal("0.3"))
    table = {need.method: need for need in recommend(plan).table}
    pc = Fraction(1, 3) + Fraction(3, 10) * Fraction(2, 3)
    numbers = tasters_needed(plan, METHODS["triangle"], pc)
    assert numbers is not None
    assert table["triangle"].tasters == numbers.holding_tasters


@pytest.mark.parametrize(("tasters", "often"), [(20, 0.1279), (50, 0.1788), (100, 0.2192)])
def test_what_looking_after_every_ballot_would_do(tasters, often):
    """Computed elsewhere by recursion; the phenomenon: Armitage, McPherson & Rowe 1969."""
    plan = Plan(method="triangle", tasters=tasters)
    assert looking_often(plan, tasters) == pytest.approx(often, abs=1e-4)
    last = str(outlook(plan).advice[-1])
    assert "The tallies stay shut until closing" in last
    assert f"{100 * often:.0f}% of panels of {tasters} that cannot tell at all" in last


def test_nothing_is_said_of_looking_where_no_false_alarm_is_at_stake():
    alike = Plan(method="triangle", tasters=60, aim=Aim.SIMILARITY)
    few = Plan(method="triangle", tasters=2)
    for plan in (alike, few):
        assert not [one for one in outlook(plan).advice if "tallies" in str(one)]
