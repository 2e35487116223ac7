"""Alcohol per taster, against published drink sizes and worked arithmetic."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.alcohol import UNITS, alcohol, alcohol_at_most, grams, grams_per_tray, unit_of
from panel.core.comparison import Beer
from panel.core.errors import PanelError
from panel.core.names import SittingKind
from panel.core.plan import Plan
from tests.core.invented import a_comparison, a_sitting


@pytest.mark.parametrize(("abv", "expected"), [("5", "5.9"), ("6", "7.1"), ("8", "9.5")])
def test_three_cups_of_50_ml(abv, expected):
    """Grams = ml x ABV/100 x 0.789 by hand: 5.9175, 7.101, 9.468."""
    assert round(grams(150, Decimal(abv)), 1) == Decimal(expected)


def test_half_a_litre_at_five_percent():
    """500 ml at 5.0 % are 19.725 g by hand."""
    assert grams(500, Decimal("5.0")) == Decimal("19.725")


def test_us_drink_is_17_7_ml_of_ethanol():
    """NIAAA: 0.6 fl oz, 17.7 ml or 14 g of pure alcohol; one US fluid ounce is 29.5735 ml."""
    assert UNITS["us"].grams == 14
    assert grams(1, Decimal("0.6") * Decimal("29.5735") * 100) == pytest.approx(14, abs=0.05)


def test_uk_unit_is_10_ml_of_ethanol():
    """UK Chief Medical Officers: a unit is 10 ml or 8 g of pure alcohol."""
    assert UNITS["uk"].grams == 8
    assert grams(10, Decimal(100)) == pytest.approx(8, abs=0.2)


@pytest.mark.parametrize(
    ("country", "expected"),
    [("de", 10), ("fr", 10), ("ie", 10), ("dk", 12), ("lu", "12.8"), ("at", 20), ("jp", 20)],
)
def test_other_units(country, expected):
    """Kalinowski & Humphreys 2016, Addiction 111:1293-1298; Japan from memory."""
    assert UNITS[country].grams == Decimal(expected)


def test_every_unit_has_a_source():
    assert all(unit.source for unit in UNITS.values())


def test_unknown_country_names_those_there_are():
    with pytest.raises(PanelError, match="atlantis") as refused:
        unit_of("atlantis")
    assert refused.value.field == "country"
    assert "uk" in str(refused.value)


def test_strongest_tray_of_a_triangle():
    """Triangle at 5.0 and 5.2 %: two cups of the stronger, 50 x (5.0 + 5.2 + 5.2)/100 x 0.789."""
    assert grams_per_tray(a_comparison()) == Decimal("6.0753")


def test_sentence_in_units():
    told = alcohol(a_comparison())
    assert str(told.sentence) == "Each taster is served up to 6.1 g of alcohol: 0.8 UK units."
    assert told.warning is None


def test_missing_strength_is_not_taken_for_none():
    beers = (a_comparison().beers[0], Beer(letter="B", name="Other"))
    told = alcohol(a_comparison(beers=beers))
    assert told.grams is None
    assert "strength" in str(told.sentence)


def test_without_alcohol():
    beers = tuple(replace(beer, abv=Decimal(0)) for beer in a_comparison().beers)
    assert str(alcohol(a_comparison(beers=beers)).sentence) == "No alcohol is served."


def at(total_grams: str):
    """A comparison whose strongest tray of two 100 ml cups holds so many grams."""
    abv = Decimal(total_grams) / (2 * 100) * 100 / Decimal("0.789")
    beers = tuple(replace(beer, abv=abv) for beer in a_comparison().beers)
    serving = replace(a_comparison().serving, millilitres=100)
    return a_comparison(beers=beers, serving=serving, plan=Plan(method="paired", tasters=24))


@pytest.mark.parametrize(
    ("grams_served", "warned", "strong"),
    [("13.9", False, False), ("14.1", True, False), ("27.9", True, False), ("28.1", True, True)],
)
def test_warned_above_one_us_drink_and_again_above_two(grams_served, warned, strong):
    told = alcohol(at(grams_served))
    assert (told.warning is not None, told.strong) == (warned, strong)


def test_evening_of_three_comparisons_is_summed():
    one = a_comparison()
    assert alcohol(one, (one, one)).grams == 3 * Decimal("6.0753")


def test_repeat_trials_are_all_drunk_by_one():
    sitting = a_sitting(kind=SittingKind.REPEAT, planned=8)
    assert alcohol(a_comparison(sittings=(sitting,))).grams == 8 * Decimal("6.0753")


@given(st.integers(1, 500), st.decimals(0, 100, places=2), st.decimals(0, 100, places=2))
def test_stronger_is_never_less(millilitres, one, other):
    low, high = sorted((one, other))
    assert grams(millilitres, low) <= grams(millilitres, high)


def test_what_sheets_print_does_not_change_when_the_beers_are_swapped():
    """3 x 50 ml at 5.2 % are 6.1542 g by hand, whichever beer is the stronger."""
    plan = Plan(method="3-afc", tasters=24, attribute="sour", stronger="B")
    one = a_comparison(plan=plan)
    first, second = one.beers
    other = replace(one, beers=(replace(first, abv=second.abv), replace(second, abv=first.abv)))
    assert alcohol_at_most(one).grams == alcohol_at_most(other).grams == Decimal("6.1542")
    assert alcohol(one).grams != alcohol(other).grams


def test_what_sheets_print_without_a_strength():
    beers = (a_comparison().beers[0], Beer(letter="B", name="Other"))
    assert alcohol_at_most(a_comparison(beers=beers)).grams is None
