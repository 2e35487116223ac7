"""What stands before sealing: each obstacle alone, beside its field."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from panel.core.comparison import Beer
from panel.core.names import Aim, Information, Looks
from panel.core.plan import Plan
from panel.core.readiness import obstacles
from tests.core.invented import NOW, a_comparison, a_sitting


def fields(comparison, *, blocking=True):
    return {one.field for one in obstacles(comparison, NOW) if one.blocking is blocking}


def with_plan(**changes):
    return a_comparison(plan=replace(a_comparison().plan, **changes))


def with_serving(**changes):
    return a_comparison(serving=replace(a_comparison().serving, **changes))


def with_sitting(**changes):
    return a_comparison(sittings=(a_sitting(**changes),))


A, B = a_comparison().beers


def test_a_finished_draft_has_no_obstacle():
    assert obstacles(a_comparison(), NOW) == ()


@pytest.mark.parametrize(
    ("comparison", "field"),
    [
        (a_comparison(title=" "), "title"),
        (a_comparison(neutral_title=""), "neutral_title"),
        (a_comparison(variable=""), "variable"),
        (a_comparison(drink=""), "drink"),
        (a_comparison(beers=(A,)), "beers"),
        (
            a_comparison(beers=(A, B, Beer(letter="C", name="Saison third", abv=Decimal(5)))),
            "beers",
        ),
        (a_comparison(beers=(A, replace(B, name="saison  KEPT at 19"))), "beers"),
        (a_comparison(beers=(A, replace(B, name=""))), "beers"),
        (a_comparison(beers=(A, replace(B, abv=Decimal(101)))), "abv"),
        (with_plan(tasters=0), "tasters"),
        (with_plan(expected=0), "expected"),
        (with_plan(alpha=Decimal(0)), "alpha"),
        (with_plan(beta=Decimal(1)), "beta"),
        (with_plan(pd=None), "pd"),
        (with_plan(pd=Decimal("1.1")), "pd"),
        (with_plan(pd=None, d_prime=Decimal(0)), "d_prime"),
        (with_plan(wave_size=7), "wave_size"),
        (with_plan(method="guessing"), "method"),
        (with_plan(aim=Aim.PREFERENCE), "aim"),
        (with_plan(sides=2), "sides"),
        (with_plan(method="duo-trio", reference="C"), "reference"),
        (with_plan(method="3-afc", stronger="B"), "attribute"),
        (with_plan(method="3-afc", attribute="sour"), "stronger"),
        (with_serving(temperature=None), "temperature"),
        (with_serving(temperature=Decimal(120)), "temperature"),
        (with_serving(vessel=""), "vessel"),
        (with_serving(millilitres=0), "millilitres"),
        (with_serving(container_millilitres=60), "container_millilitres"),
        (with_serving(minimum_age=-1), "minimum_age"),
        (with_serving(country="atlantis"), "country"),
        (a_comparison(sittings=()), "sittings"),
        (a_comparison(sittings=(a_sitting(), a_sitting(id="2"))), "name"),
        (with_sitting(name=""), "name"),
        (with_sitting(planned=0), "planned"),
        (with_sitting(information=Information.INFORMED), "told"),
    ],
)
def test_it_blocks(comparison, field):
    assert fields(comparison) == {field}


@pytest.mark.parametrize(
    ("comparison", "field"),
    [
        (a_comparison(beers=(A, replace(B, abv=None))), "abv"),
        (with_plan(alpha=Decimal("0.6")), "alpha"),
        (with_plan(aim=Aim.SIMILARITY), "tasters"),
        (with_serving(looks=Looks.DIFFERENT), "looks"),
        (with_serving(allergens=()), "allergens"),
        (with_serving(millilitres=150), "millilitres"),
        (with_sitting(starts=NOW - timedelta(days=1)), "starts"),
        (with_sitting(place=""), "place"),
        (with_sitting(planned=12), "planned"),
    ],
)
def test_it_is_said_and_may_stand(comparison, field):
    assert fields(comparison, blocking=False) == {field}
    assert fields(comparison) == set()


def test_two_sided_paired_needs_no_stronger_beer():
    plan = Plan(method="paired", tasters=24, attribute="sour", sides=2)
    assert obstacles(a_comparison(plan=plan), NOW) == ()


def test_what_blocks_comes_first():
    found = obstacles(with_plan(tasters=0, alpha=Decimal("0.6")), NOW)
    assert [one.blocking for one in found] == [True, False]


def test_the_sitting_is_named():
    (one,) = obstacles(with_sitting(planned=0), NOW)
    assert one.sitting == "sitting00001"


def test_without_a_clock_no_date_has_passed():
    assert obstacles(with_sitting(starts=NOW - timedelta(days=1))) == ()


def test_an_obstacle_is_a_refusal_with_a_code():
    (one,) = obstacles(with_sitting(name=""), NOW)
    assert one.code == "not-ready-name"
