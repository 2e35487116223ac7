"""The pour sheet: its totals from the key, its rules, its log."""

from dataclasses import replace

import pytest

from panel.core.errors import PanelError
from panel.core.names import Blinding, Looks, Paper, SittingKind
from panel.core.plan import Serving
from panel.printing.pour_sheet import pour_sheet, quantities_of
from tests.printing.papers import an_order, named_comparison, pages_of, text_of


def test_totals_by_hand():
    """12 triangles hold 18 cups of each: 900 ml, 90 spilled; 450 ml out of each 500 ml bottle:

    three bottles, 150 ml left in them, 1140 ml in all.
    """
    order, key = an_order(spares=0)
    said = text_of(pour_sheet(order, key))
    assert "Saison kept at 19 18 900 90 150 1140 3" in said
    assert "Saison kept at 27 18 900 90 150 1140 3" in said
    assert "12 trays and 0 spare, 36 cups; have 38 ready" in said


def test_spares_are_counted_by_their_own_orders():
    order, key = an_order(planned=6, spares=1)
    needs = quantities_of(order, key)
    assert sum(beer.cups for beer in needs.beers) == 21
    assert {beer.cups for beer in needs.beers} == {10, 11}
    assert all(beer.exact for beer in needs.beers)


def test_every_wave_with_its_first_jug_and_cups():
    order, key = an_order(spares=0)
    said = text_of(pour_sheet(order, key))
    assert "1 1–6 Saison kept at 19 9 + 9" in said
    assert "2 7–12 Saison kept at 27 9 + 9" in said


def test_the_rules_of_the_jug():
    said = text_of(pour_sheet(*an_order()))
    for rule in ("within 1 °C", "in one movement", "Never decant", "at most 5 minutes", "set the"):
        assert rule in said
    assert "for the pourer alone: keep out of sight" in said


def test_a_tap_is_run_off_and_a_bottle_is_not():
    serving = named_comparison().serving
    tapped = Serving(**{**serving.__dict__, "container_millilitres": 5000})
    said = text_of(pour_sheet(*an_order(comparison=named_comparison(serving=tapped))))
    assert "100 to 200 ml off a tap" in said
    assert "sediment: pour" not in said


def test_parcels_have_no_five_minutes():
    assert "at most 5 minutes" not in text_of(pour_sheet(*an_order(kind=SittingKind.PARCEL)))


def test_triple_blinding_shows_cover_names_alone():
    order, key = an_order(comparison=named_comparison(blinding=Blinding.TRIPLE))
    said = text_of(pour_sheet(order, key))
    assert "Heron" in said
    assert "kept at" not in said
    assert "You pour by cover names" in said


@pytest.mark.parametrize("paper", Paper)
def test_an_evening_of_24_fits_one_page(paper):
    assert pages_of(pour_sheet(*an_order(planned=24, paper=paper))) == 1


def test_too_long_a_name_is_refused_by_name():
    first, second = named_comparison().beers
    long = type(first)(letter="A", name="A saison that was kept at nineteen degrees for five weeks")
    order, key = an_order(comparison=named_comparison(beers=(long, second)))
    with pytest.raises(PanelError, match="the name of a beer, on the pour sheet"):
        pour_sheet(order, key)


def test_drinks_that_differ_by_eye_get_dark_cups_and_dim_light():
    order, key = an_order()
    serving = replace(order.comparison.serving, looks=Looks.MASKED)
    differ = replace(order, comparison=replace(order.comparison, serving=serving))
    words = "dark cups, small pours, dim light"
    assert words in text_of(pour_sheet(differ, key))
    alike = replace(serving, looks=Looks.ALIKE)
    order = replace(order, comparison=replace(order.comparison, serving=alike))
    assert words not in text_of(pour_sheet(order, key))
