"""Cups, cards and beer: golden arithmetic, and the bound before the draw against real draws."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.allocation.trays import draw_sitting
from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.names import SittingKind
from panel.core.plan import Plan
from panel.core.quantities import (
    beer_need,
    most_cups,
    pouring_advice,
    quantities,
    sitting_quantities,
    wave_seconds,
)
from tests.core.invented import a_comparison, a_sitting


def test_an_evening_of_24_triangles():
    """By hand: 24 x 3 = 72 cups, 36 of each; 36 x 50 = 1800 ml, 180 spill, 1980 ml to pour.

    A 500 ml bottle gives 450 ml when 50 ml stay in it: 1980 / 450 = 4.4, five bottles, 250 ml.
    """
    needs = quantities(a_comparison(), spare_trays=0)
    assert (needs.trays, needs.cups, needs.cards, needs.labels) == (24, 72, 24, 72)
    assert needs.vessels == 76  # 72 and 5 %, rounded up
    assert needs.sittings[0].waves == (6, 6, 6, 6)
    for beer in needs.sittings[0].beers:
        assert beer.cups == 36
        assert beer.poured_millilitres == 1800
        assert beer.spill_millilitres == 180
        assert beer.containers == 5
        assert beer.run_off_millilitres == 250
        assert beer.total_millilitres == 2230


def test_three_triangles_too_many_take_the_heavier_orders():
    """27 = 4 x 6 + 3: at most 36 + 4 x ... by hand 4 sets of 9 cups each, and 3 orders of two."""
    assert most_cups(METHODS["triangle"].orders(Plan(method="triangle")), 27) == Counter(A=42, B=42)


def test_tap_runs_off_200_ml_once_for_each_keg():
    need = beer_need("A", 36, 50, 5000, exact=True)
    assert (need.containers, need.run_off_millilitres, need.total_millilitres) == (1, 200, 2180)


def test_container_that_holds_no_cup_is_refused():
    with pytest.raises(PanelError, match="no full cup") as refused:
        beer_need("A", 36, 50, 90, exact=True)
    assert refused.value.field == "container_millilitres"


def test_spares_are_cards_labels_and_beer_too():
    needs = quantities(a_comparison())
    assert needs.sittings[0].spare_trays == 2  # a table's, unasked
    assert (needs.trays, needs.cards, needs.cups, needs.labels) == (24, 26, 78, 78)
    assert needs.sittings[0].waves == (6, 6, 6, 6, 2)
    assert [beer.cups for beer in needs.beers] == [40, 40]


@pytest.mark.parametrize("kind", [SittingKind.PARCEL, SittingKind.REPEAT])
def test_parcels_and_repeat_trials_have_no_spares(kind):
    needs = quantities(a_comparison(sittings=(a_sitting(kind=kind),)))
    assert (needs.cards, needs.sittings[0].spare_trays) == (24, 0)


def test_no_more_spares_than_were_drawn():
    one = a_sitting(planned=1, drawn=2)
    assert quantities(a_comparison(sittings=(one,))).cards == 2


def test_two_sittings_open_containers_of_their_own():
    sittings = (a_sitting(planned=6), a_sitting(id="sitting00002", planned=6))
    needs = quantities(a_comparison(sittings=sittings), spare_trays=0)
    assert [beer.containers for beer in needs.beers] == [4, 4]  # 495 ml in 450 ml: two each


def test_known_orders_are_counted_exactly():
    orders = ["AAB", "ABA", "BAA", "BBA"]
    sitting = a_sitting(planned=4)
    needs = sitting_quantities(a_comparison(), sitting, orders)
    assert [(beer.cups, beer.exact) for beer in needs.beers] == [(7, True), (5, True)]


@given(
    method=st.sampled_from(sorted(METHODS)),
    planned=st.integers(1, 40),
    spares=st.integers(0, 6),
    kind=st.sampled_from(SittingKind),
    one_shuffle=st.booleans(),
    secret=st.binary(min_size=32, max_size=32),
)
def test_no_draw_asks_for_more_than_was_kept_back(
    method, planned, spares, kind, one_shuffle, secret
):
    """The bound before the draw against the draw itself, for every method and kind of sitting."""
    drinks = METHODS[method].beers
    plan = Plan(method=method, tasters=planned, attribute="bitter", stronger="B", drinks=drinks)
    orders = METHODS[method].orders(plan)
    independent = kind is not SittingKind.TABLE
    draw = draw_sitting(secret, "s", 1, orders, planned, 6, one_shuffle, independent=independent)
    spares = min(spares, planned)
    poured = Counter("".join(tray.order for tray in draw.trays[: planned + spares]))
    bound = most_cups(orders, planned, spare_trays=spares, independent=independent)
    assert all(poured[letter] <= bound[letter] for letter in poured)


@given(st.integers(1, 2000), st.integers(10, 200), st.sampled_from([330, 500, 750, 5000, 19000]))
def test_kept_back_containers_are_enough_and_not_one_too_many(cups, millilitres, size):
    need = beer_need("A", cups, millilitres, size, exact=True)
    gives = size - (200 if size >= 5000 else 50)
    to_pour = need.poured_millilitres + need.spill_millilitres
    assert need.containers * gives >= to_pour > (need.containers - 1) * gives
    assert need.total_millilitres <= need.containers * size


def test_wave_of_six_is_within_five_minutes_and_twelve_triangles_are_not():
    assert wave_seconds(6, 3) <= 300
    assert wave_seconds(6, 4) <= 300
    assert wave_seconds(12, 3) > 300


def test_a_long_wave_is_said():
    slow = replace(a_comparison().plan, wave_size=12)
    said = [str(one) for one in pouring_advice(quantities(a_comparison(plan=slow)), "cider")]
    assert any("5 are the limit" in one for one in said)
    quick = [str(one) for one in pouring_advice(quantities(a_comparison()), "cider")]
    assert quick == [
        "Keep back 5 containers of cider A: 40 cups, 2450 ml with what is spilled and run off.",
        "Keep back 5 containers of cider B: 40 cups, 2450 ml with what is spilled and run off.",
    ]
