"""What stands before sealing: each obstacle alone, beside its field."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from panel.core.allocation.codes import POOL
from panel.core.allocation.comparison_draw import draw_comparison
from panel.core.comparison import Beer
from panel.core.errors import PanelError
from panel.core.names import Aim, Helpers, Information, Looks, SittingKind
from panel.core.plan import Plan
from panel.core.readiness import obstacles
from panel.core.turnout import with_planned_tasters
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
        (a_comparison(beers=(A, replace(B, abv=Decimal("NaN")))), "abv"),
        (with_plan(tasters=0), "tasters"),
        (with_plan(expected=0), "expected"),
        (with_plan(expected=100_001), "expected"),
        (with_plan(excluded_codes=("12",)), "excluded_codes"),
        (with_plan(excluded_codes=POOL[17:]), "planned"),
        (with_plan(alpha=Decimal(0)), "alpha"),
        (with_plan(alpha=Decimal("NaN")), "alpha"),
        (with_plan(beta=Decimal(1)), "beta"),
        (with_plan(pd=None), "pd"),
        (with_plan(pd=Decimal("1.1")), "pd"),
        (with_plan(pd=None, d_prime=Decimal(0)), "d_prime"),
        (with_plan(pd=None, d_prime=Decimal("20.1")), "d_prime"),
        (with_plan(wave_size=7), "wave_size"),
        (with_plan(method="guessing"), "method"),
        (with_plan(aim=Aim.PREFERENCE), "aim"),
        (with_plan(sides=2), "sides"),
        (with_plan(method="duo-trio", reference="C"), "reference"),
        (with_plan(method="3-afc", stronger="B"), "attribute"),
        (with_plan(method="3-afc", attribute="sour"), "stronger"),
        (with_serving(temperature=None), "temperature"),
        (with_serving(temperature=Decimal(120)), "temperature"),
        (with_serving(temperature=Decimal("Infinity")), "temperature"),
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
        (with_serving(allergens=()), "allergens"),
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
        (with_serving(millilitres=150), "millilitres"),
        (with_sitting(starts=NOW - timedelta(days=1)), "starts"),
        (with_sitting(place=""), "place"),
        (with_sitting(planned=12), "planned"),
    ],
)
def test_it_is_said_and_may_stand(comparison, field):
    assert fields(comparison, blocking=False) == {field}
    assert fields(comparison) == set()


@pytest.mark.parametrize(
    ("kind", "planned", "codes", "enough"),
    [
        (SittingKind.TABLE, 24, 18, True),  # a wave of six triangles at a time
        (SittingKind.TABLE, 24, 17, False),
        (SittingKind.TABLE, 4, 12, True),  # a wave is never more than the sitting
        (SittingKind.TABLE, 4, 11, False),
        (SittingKind.PARCEL, 24, 144, True),  # planned and spare trays, no code twice
        (SittingKind.PARCEL, 24, 143, False),
        (SittingKind.REPEAT, 24, 143, False),
    ],
)
def test_there_are_codes_for_all_cups_that_must_differ(kind, planned, codes, enough):
    comparison = a_comparison(
        sittings=(a_sitting(kind=kind, planned=planned, drawn=2 * planned),),
        plan=Plan(method="triangle", tasters=planned, excluded_codes=POOL[codes:]),
    )
    assert fields(comparison) == (set() if enough else {"planned"})
    try:
        draw_comparison(bytes(32), comparison)
        drawn = True
    except PanelError:
        drawn = False
    assert drawn is enough


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


def kitchen_table(**plan):
    """One brewer, seven rounds at the kitchen table, nobody to help."""
    rounds = a_sitting(kind=SittingKind.REPEAT, planned=7, drawn=14, place="")
    return with_planned_tasters(
        a_comparison(
            sittings=(rounds,),
            helpers=Helpers.ALONE,
            plan=Plan(method="triangle", **plan),
        )
    )


def test_a_kitchen_table_test_can_be_sealed():
    assert fields(kitchen_table()) == set()


def test_without_a_sitting_the_sitting_is_what_is_missing():
    assert fields(with_planned_tasters(a_comparison(sittings=()))) == {"sittings"}


def test_one_taster_never_shows_that_nobody_can_tell():
    (one,) = (
        one for one in obstacles(kitchen_table(aim=Aim.SIMILARITY), NOW) if one.field == "tasters"
    )
    assert not one.blocking
    assert str(one.message).startswith("One taster's trays can show")


def two_sittings(*trays, **plan):
    sittings = tuple(
        a_sitting(id=f"sitting0000{place}", name=f"Evening {place}", planned=planned)
        for place, planned in enumerate(trays)
    )
    return a_comparison(sittings=sittings, plan=Plan(method="triangle", tasters=24, **plan))


@pytest.mark.parametrize(
    ("comparison", "said"),
    [
        (two_sittings(12, 12), None),
        (two_sittings(12, 6), "Your sittings have only 18 trays for blinded tasters"),
        (two_sittings(12, 6, further_sittings=True), None),
        (two_sittings(24, 24, join_sittings=False), None),
        (two_sittings(24, 12, join_sittings=False), "Your smallest has only 12 trays"),
        (
            two_sittings(24, 12, join_sittings=False, further_sittings=True),
            "Your smallest has only 12 trays",
        ),
        (two_sittings(12, join_sittings=False), "Your sittings have only 12 trays"),
    ],
)
def test_fewer_trays_than_tasters_are_said_of_what_has_a_verdict(comparison, said):
    spoken = [str(one.message) for one in obstacles(comparison, NOW) if one.field == "planned"]
    assert len(spoken) == (said is not None)
    assert all(said in sentence for sentence in spoken)
