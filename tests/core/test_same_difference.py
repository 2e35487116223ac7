"""The same difference asked with another test: Thurstone's d-prime is what stays the same."""

from decimal import Decimal

from panel.core.methods import method_named
from panel.core.plan import Plan
from panel.core.recommendation import recommend, same_difference


def test_a_share_becomes_the_d_prime_it_stands_for() -> None:
    # ISO 4120-style tables give d-prime by proportion correct. Triangle: half of tasters tell apart
    # when two thirds are right, d-prime 2.32 (Ennis 1993, Journal of Sensory Studies 8, from
    # memory: 0.67 correct is 2.33).
    asked = same_difference(Plan(method="triangle", pd=Decimal("0.5")), method_named("tetrad"))
    assert asked.method == "tetrad"
    assert asked.pd is None
    assert asked.d_prime is not None
    assert abs(asked.d_prime - Decimal("2.32")) < Decimal("0.02")


def test_it_stays_a_share_within_one_test_and_where_no_distance_is_enough() -> None:
    half = Plan(method="triangle", pd=Decimal("0.5"))
    assert same_difference(half, method_named("triangle")) == half
    all_of_them = Plan(method="triangle", pd=Decimal(1))
    assert same_difference(all_of_them, method_named("tetrad")).pd == 1


def test_a_fitting_test_goes_on_fitting() -> None:
    plan = Plan(method="triangle", pd=Decimal("0.3"), expected=24)
    fits = recommend(plan).method
    assert fits == "tetrad"
    assert recommend(same_difference(plan, method_named(fits))).method == fits
