"""Words that would tell: found, let pass, and waived by themselves."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.comparison import Beer
from panel.core.leaks import blocking_leaks, leaks
from panel.core.names import Information
from panel.core.plan import Plan
from tests.core.invented import a_comparison, a_sitting

BEERS = a_comparison().beers


def words(comparison):
    return [(leak.word, leak.field) for leak in leaks(comparison)]


def test_a_neutral_comparison_has_none():
    assert leaks(a_comparison()) == ()


@pytest.mark.parametrize(
    ("variable", "title"),
    [
        ("dry hops", "The hopped one"),
        ("dry hop 3 g/l", "HOPS or not"),
        ("water treatment: gypsum", "Gypsum evening"),
        ("roast barley", "Roasty stouts"),
        ("bittering charge", "How much bitterness"),
        ("Hopfensorte", "Hopfen"),
        ("crystal malt", "malty saisons"),
        ("the new yeast", "old and new"),
        ("mash at 66 °C", "66 or something else"),
        ("bottle or keg", "Beer from the bottle"),
        ("first or second batch of yeast", "A second saison"),
        ("brewing water", "How it was brewed"),
    ],
)
def test_a_shared_word_blocks(variable, title):
    found = blocking_leaks(a_comparison(variable=variable, neutral_title=title))
    assert [leak.field for leak in found] == ["neutral_title"]


@pytest.mark.parametrize(
    ("variable", "title"),
    [
        ("yeast strain of the beer", "Two beers for the guild"),
        ("fermentation temperature", "Two saisons at the test evening"),
        ("3 g/l of gypsum", "3 March"),
        ("the taste of two yeasts", "A tasting: do the samples differ?"),
        ("hopping", "An open shop"),
    ],
)
def test_the_drink_little_words_and_single_digits_pass(variable, title):
    assert leaks(a_comparison(variable=variable, neutral_title=title)) == ()


def test_values_and_names_are_secret_and_what_all_names_share_is_not():
    beers = (
        Beer(letter="A", name="Saison Harwood", value="Kestrel yeast"),
        Beer(letter="B", name="Saison Millbrook", value="Merlin yeast"),
    )
    comparison = a_comparison(
        beers=beers,
        neutral_title="Saison",
        organised_by="Millbrook guild",
        sittings=(a_sitting(name="At the Kestrel", place="Yeast Street"),),
    )
    assert words(comparison) == [("Millbrook", "organised_by"), ("Kestrel", "sitting_name")]


def test_trade_words_are_let_pass_in_names_and_never_in_values():
    beers = (
        Beer(letter="A", name="First batch in the bottle", value="fresh from the bottle"),
        Beer(letter="B", name="Second batch in the keg", value="fresh from the keg"),
    )
    comparison = a_comparison(beers=beers, neutral_title="Beer from the bottle: a first evening")
    assert words(comparison) == [("bottle", "neutral_title")]
    assert [str(leak.secret) for leak in leaks(comparison)] == ["what it is in beer A"]


def test_the_style_that_all_names_share_is_no_secret_though_the_variable_names_it():
    variable = "the yeast of the saison"
    assert leaks(a_comparison(variable=variable, neutral_title="Two saisons")) == ()
    values = [replace(beer, value=f"{beer.value} in saison yeast") for beer in BEERS]
    secret = a_comparison(variable=variable, beers=tuple(values), neutral_title="Two saisons")
    assert words(secret) == [("saisons", "neutral_title")]  # it is a word of the variable's values
    one = (BEERS[0], replace(BEERS[1], name="Kept at 27"))
    assert words(a_comparison(variable=variable, beers=one, neutral_title="Two saisons")) != []


def test_what_is_often_changed_is_no_style():
    beers = (
        replace(BEERS[0], name="Hopped with Alderleaf", value=""),
        replace(BEERS[1], name="Hopped with Quayside", value=""),
    )
    comparison = a_comparison(beers=beers, variable="kind of hops", neutral_title="The hopped one")
    assert words(comparison) == [("hopped", "neutral_title")]


@pytest.mark.parametrize(
    ("drink", "found"),
    [("coffee", []), ("Coffee", []), ("coffee stout", ["drink", "neutral_title"])],
)
def test_only_a_plain_name_of_the_drink_tells_nothing(drink, found):
    comparison = a_comparison(
        drink=drink, variable="roast of the coffee", neutral_title="Two coffees"
    )
    assert sorted(field for _word, field in words(comparison)) == found


def test_a_value_of_one_beer_alone_is_secret():
    plain, hopped = a_comparison().beers
    beers = (replace(plain, value=""), replace(hopped, value="quassia"))
    assert words(a_comparison(beers=beers, drink="quassia")) == [("quassia", "drink")]


def test_every_text_that_is_met_is_looked_at():
    plan = Plan(method="triangle", tasters=24, attribute="")
    secret = "quassia"
    comparison = a_comparison(
        variable=secret,
        neutral_title=secret,
        drink=secret,
        organised_by=secret,
        plan=plan,
        serving=replace(a_comparison().serving, vessel=secret),
        sittings=(a_sitting(name=secret, place=secret),),
    )
    met = {field for _word, field in words(comparison)}
    assert met == {"neutral_title", "drink", "organised_by", "vessel", "sitting_name", "place"}


def test_what_the_informed_are_told_is_no_leak():
    told = a_sitting(information=Information.INFORMED, told="The fermentation was warmer.")
    assert leaks(a_comparison(sittings=(told,))) == ()


def test_the_attribute_waives_itself_and_says_so():
    plan = Plan(method="3-afc", tasters=24, attribute="bitter", stronger="B")
    comparison = a_comparison(plan=plan, variable="bitterness")
    (leak,) = leaks(comparison)
    assert leak.waived_by_itself
    assert blocking_leaks(comparison) == ()
    assert "told what to look for" in str(leak.sentence())


@pytest.mark.parametrize(
    ("method", "found"), [("triangle", []), ("duo-trio", []), ("3-afc", ["attribute", "drink"])]
)
def test_an_attribute_that_nobody_is_asked_for_neither_is_met_nor_waives(method, found):
    plan = Plan(method=method, tasters=24, attribute="smoky", stronger="B")
    comparison = a_comparison(plan=plan, variable="smoked malt", drink="smoke beer")
    assert sorted(leak.field for leak in leaks(comparison) if leak.waived_by_itself) == found
    assert bool(blocking_leaks(comparison)) is (method != "3-afc")


def test_an_allergen_that_is_the_variable_stays_named():
    serving = replace(a_comparison().serving, allergens=("barley (gluten)", "lactose"))
    comparison = a_comparison(variable="lactose 20 g/l", serving=serving)
    assert words(comparison) == [("lactose", "allergens")]
    assert blocking_leaks(comparison) == ()
    assert "Safety" in str(leaks(comparison)[0].sentence())


def test_a_written_reason_waives_all():
    comparison = a_comparison(variable="hops", neutral_title="Hops")
    assert blocking_leaks(comparison) != ()
    assert blocking_leaks(replace(comparison, waived="Everybody knows the club's name.")) == ()
    assert leaks(replace(comparison, waived="Everybody knows the club's name.")) != ()


def test_the_sentence_says_where_both_stand():
    (leak,) = leaks(a_comparison(variable="dry hops", neutral_title="Hopped"))
    assert str(leak.sentence()) == (
        "“Hopped” stands in what was changed and in the neutral title, where blinded tasters "
        "read it. Change the neutral title, or write down why it tells nothing."
    )


@given(st.text(st.characters(categories=["Ll", "Lu"]), min_size=6, max_size=20))
def test_any_long_word_of_the_variable_is_found_in_any_case(word):
    comparison = a_comparison(variable=word, neutral_title=f"About {word.upper()}!")
    little = ("without", "taster", "tasters", "tasted", "tastes", "tasting", "testing", "sample")
    if word.upper().casefold() == word.casefold() and word.casefold() not in little:
        assert any(leak.field == "neutral_title" for leak in leaks(comparison))
