"""Steward page and sign-in sheet: what is read aloud, what is minded, and what is not there."""

import re
from dataclasses import replace

import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Beer
from panel.core.errors import PanelError
from panel.core.how_to_taste import how_to_taste
from panel.core.methods import METHODS, method_named
from panel.core.names import Information, Paper, Swallow
from panel.printing.sign_in_sheet import sign_in_sheet
from panel.printing.steward_page import steward_page
from tests.core.invented import a_comparison
from tests.printing.papers import SECRET_WORDS, an_order, named_comparison, pages_of, text_of

TOLD = "One of the two was fermented cooler."


@pytest.mark.parametrize("method", METHODS)
def test_every_tray_with_its_card_number_and_codes(method):
    order, _key = an_order(method)
    said = text_of(steward_page(order))
    for tray in order.trays:
        assert f"{card_number(tray.number)} {' '.join(tray.codes())}" in said


@pytest.mark.parametrize("method", METHODS)
def test_the_script_has_the_methods_own_words(method):
    order, _key = an_order(method)
    known = method_named(method)
    said = text_of(steward_page(order))
    assert str(known.instruction) in said
    assert str(known.decides(order.comparison.plan).text) in said


@pytest.mark.parametrize("swallow", Swallow)
@pytest.mark.parametrize("retaste", [True, False])
def test_swallowing_and_going_back_read_as_on_the_card(swallow, retaste):
    serving = replace(a_comparison().serving, swallow=swallow, retaste=retaste)
    order, _key = an_order(comparison=named_comparison(serving=serving))
    said = text_of(steward_page(order))
    assert str(how_to_taste(serving)) in said
    assert ("do it with every cup" in said) == (swallow is Swallow.EITHER)


def test_only_the_informed_are_told():
    blinded, _key = an_order(told=TOLD)
    informed, _key = an_order(told=TOLD, information=Information.INFORMED)
    assert TOLD not in text_of(steward_page(blinded))
    assert TOLD in text_of(steward_page(informed))


@pytest.mark.parametrize("sheet", [steward_page, sign_in_sheet])
def test_nobody_reads_what_was_changed(sheet):
    said = text_of(sheet(an_order()[0]))
    for word in SECRET_WORDS:
        assert not re.search(rf"\b{word}\b", said.replace("19 ", "").replace("27 ", ""))
    assert "Saison kept" not in said


@pytest.mark.parametrize("sheet", [steward_page, sign_in_sheet])
def test_the_usual_cautions(sheet):
    """Union of allergens, highest strength (3 x 50 ml at 5.2 % are 6.2 g), age, driving."""
    said = text_of(sheet(an_order()[0]))
    assert "barley (gluten)" in said
    assert "up to 5.2% by volume" in said
    assert "6.2 g" in said
    assert "Nobody under 18" in said
    assert "drives" in said
    assert "own free will" in said


def test_without_alcohol_nobody_is_warned_of_driving():
    beers = tuple(replace(beer, abv=0 * beer.abv) for beer in a_comparison().beers)
    order, _key = an_order(comparison=named_comparison(drink="coffee", beers=beers))
    said = text_of(steward_page(order))
    assert "drives" not in said
    assert "No alcohol is served" in said


def test_an_unknown_strength_is_treated_as_strong():
    beers = (a_comparison().beers[0], Beer(letter="B", name="Other"))
    said = text_of(steward_page(an_order(comparison=named_comparison(beers=beers))[0]))
    assert "Strength: not known" in said
    assert "drives" in said


@pytest.mark.parametrize("paper", Paper)
def test_an_evening_of_24_is_one_page_and_its_back(paper):
    order, _key = an_order(planned=24, paper=paper)
    assert pages_of(steward_page(order)) == 1
    assert pages_of(sign_in_sheet(order)) <= 2


def test_thirty_six_trays_fit_a_page_of_a4():
    assert pages_of(steward_page(an_order(planned=36)[0])) == 1


def test_what_is_told_at_too_great_length_is_refused_by_name():
    order, _key = an_order(information=Information.INFORMED, told="It was cooler. " * 250)
    with pytest.raises(PanelError, match="what the informed tasters are told"):
        steward_page(order)


@pytest.mark.parametrize(
    ("changes", "sitting", "named"),
    [
        ({}, {"name": "The evening of " * 12}, "the sitting's name"),
        ({"neutral_title": "Two saisons " * 14}, {}, "the neutral title"),
    ],
)
def test_too_long_a_title_is_refused_by_name(changes, sitting, named):
    order, _key = an_order(comparison=named_comparison(**changes), **sitting)
    with pytest.raises(PanelError, match=named):
        steward_page(order)


def test_the_sign_in_sheet_links_nobody_to_a_card():
    order, _key = an_order()
    said = text_of(sign_in_sheet(order))
    for tray in order.trays:
        assert not any(code in said for code in tray.codes())
        assert card_number(tray.number) not in said
    assert "if you like" in said
    assert "I am 18 or over" in said
    assert "destroyed" in said


def test_a_sitting_without_an_age_asks_for_none():
    serving = replace(a_comparison().serving, minimum_age=0)
    said = text_of(sign_in_sheet(an_order(comparison=named_comparison(serving=serving))[0]))
    assert "or over" not in said
    assert "Nobody under" not in said
