"""The archive searched: words however they are written, every part of a wish, topics together."""

from dataclasses import replace

import pytest

from panel.core.archive import Wish, folded, matching, of_topic, topics, variables
from panel.core.comparison import Beer, Comparison
from panel.core.plan import Plan
from tests.results import comparison


def known(title: str, variable: str, drink: str = "beer", method: str = "triangle") -> Comparison:
    beers = (
        Beer(letter="A", name="Cool tank", value="19 °C"),
        Beer(letter="B", name="Wärmere Kuvée", value="27 °C"),
    )
    made = comparison(Plan(method=method))
    return replace(made, title=title, variable=variable, drink=drink, beers=beers)


SAISON = known("Does warmth show?", "Fermentation temperature")
AGAIN = known("Warmth again", "fermentation  TEMPÉRATURE,", method="duo-trio")
CIDER = known("Cider, kept warm", "fermentation temperature", "Cider")
OATS = known("Oats", "Flocons d’avoine")
ALL = (SAISON, AGAIN, CIDER, OATS)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Crème  brûlée", "CREME BRULEE"),
        ("Straße", "STRASSE"),
        ("d’avoine", "d'avoine"),
        ("Žatec-hops", "zatec hops"),
        ("ﬁne", "fine"),
        ("I\u0307stanbul", "istanbul"),
        ("  a\tb\n", "A B"),
    ],
)
def test_words_are_the_same_however_they_are_written(one: str, other: str) -> None:
    assert folded(one) == folded(other) != ""


@pytest.mark.parametrize(("one", "other"), [("19 °C", "27 °C"), ("हिंदी", "हदी"), ("ab", "a b")])
def test_other_words_stay_others(one: str, other: str) -> None:
    assert folded(one) != folded(other)


@pytest.mark.parametrize("nothing", ["", "  ", "?!", "\u0301"])
def test_what_has_no_letters_looks_for_nothing(nothing: str) -> None:
    assert folded(nothing) == ""
    assert not Wish(words=nothing).any
    assert matching(ALL, Wish(words=nothing)) == ALL
    assert of_topic([replace(OATS, variable=nothing)], "beer", nothing) == ()


@pytest.mark.parametrize(
    ("wish", "found"),
    [
        (Wish(), ALL),
        (Wish(words="temperature"), (SAISON, AGAIN, CIDER)),
        (Wish(words="WARM kept"), (CIDER,)),
        (Wish(words="ferm", drink="BEER"), (SAISON, AGAIN)),
        (Wish(drink="cider"), (CIDER,)),
        (Wish(method="duo-trio"), (AGAIN,)),
        (Wish(words="oats", method="duo-trio"), ()),
        (Wish(words="kuvee"), ALL),  # a beer's name
        (Wish(words="19 C"), ALL),  # its value
        (Wish(words="zzz"), ()),
        (Wish(method="no such"), ()),
    ],
)
def test_every_part_of_a_wish_narrows_and_the_order_stays(
    wish: Wish, found: tuple[Comparison, ...]
) -> None:
    assert matching(ALL, wish) == found


def test_one_variable_in_one_drink_is_one_topic_as_last_written() -> None:
    said = [(one.drink, one.variable, one.comparisons) for one in topics(ALL)]
    assert said == [
        ("beer", "Fermentation temperature", 2),
        ("Cider", "fermentation temperature", 1),
        ("beer", "Flocons d’avoine", 1),
    ]
    assert variables(topics(ALL)) == ("fermentation temperature", "Flocons d’avoine")
    assert of_topic(ALL, "Beer", "fermentation temperature") == (SAISON, AGAIN)
    assert of_topic(ALL, "beer", "another") == ()
