"""More than two drinks in the form of a question: named, lettered, planned, and shown as kept."""

from dataclasses import replace
from decimal import Decimal

import pytest

from panel.core.comparison import Beer
from panel.core.errors import RefusalsError
from panel.core.names import Aim
from panel.services.plan_comparison import Draft
from panel.web.organiser_question_form import draft_read, words_of_question
from panel.web.organiser_reading import Reading
from tests.builders import draft

FOUR = {
    "beer_c_name": "Third",
    "beer_c_abv": "5.3",
    "beer_d_name": "Fourth",
    "method": "fitting",
    "aim": "preference",
    "cups": "",
    "expected_order": "",
}


def read(**typed: str) -> Draft:
    words = {name: [word] for name, word in typed.items()}
    reading = Reading({**words_of_question(draft()), **words})
    found = draft_read(reading)
    reading.done()
    return found


def refused(**typed: str) -> dict[str | None, str]:
    with pytest.raises(RefusalsError) as refusal:
        read(**typed)
    return {one.field: str(one.message) for one in refusal.value.refusals}


def test_what_is_named_is_compared_and_put_in_order() -> None:
    found = read(**FOUR)
    assert [(beer.letter, beer.name) for beer in found.beers[2:]] == [
        ("C", "Third"),
        ("D", "Fourth"),
    ]
    assert found.beers[2].abv == Decimal("5.3")
    plan = found.plan
    assert (plan.method, plan.drinks, plan.cups, plan.sides) == ("ranking", 4, 0, 2)


def test_two_are_as_they_were() -> None:
    plan = read(method="fitting").plan
    assert (plan.drinks, plan.cups, plan.expected_order) == (2, 0, "")
    assert plan.method == "triangle"
    assert read(expected_order="B A").plan.expected_order == ""


def test_a_gap_is_closed() -> None:
    found = read(**{**FOUR, "beer_c_name": "", "beer_c_abv": "", "beer_f_name": "Sixth"})
    assert [(beer.letter, beer.name) for beer in found.beers[2:]] == [
        ("C", "Fourth"),
        ("D", "Sixth"),
    ]
    assert found.plan.drinks == 4


@pytest.mark.parametrize("typed", ["c a d b", "C, A, D, B", "CADB"])
def test_an_order_is_named_by_letters(typed: str) -> None:
    assert read(**{**FOUR, "expected_order": typed}).plan.expected_order == "CADB"


@pytest.mark.parametrize("typed", ["C A B", "A A B C", "E A B C", "first"])
def test_an_order_that_is_none_is_refused(typed: str) -> None:
    assert "letters ABCD once" in refused(**{**FOUR, "expected_order": typed})["expected_order"]


def test_some_cups_of_all() -> None:
    assert read(**{**FOUR, "cups": "3"}).plan.cups == 3
    assert read(**{**FOUR, "cups": "4"}).plan.cups == 0  # that is all of them
    assert "how many cups" in refused(**{**FOUR, "cups": "many"})["cups"]


def test_two_of_one_name_are_refused_beside_the_second() -> None:
    assert "own name" in refused(**{**FOUR, "beer_d_name": "third"})["beer_d_name"]


def test_what_is_kept_is_typed_as_it_was() -> None:
    beers = (*draft().beers, Beer(letter="C", name="Third", value="25 °C", abv=Decimal("5.1")))
    plan = replace(
        draft("ranking").plan, aim=Aim.PREFERENCE, drinks=3, cups=2, expected_order="BCA"
    )
    kept = replace(draft("ranking"), beers=beers, plan=plan)
    reading = Reading(words_of_question(kept))
    again = draft_read(reading)
    reading.done()
    assert again.beers == kept.beers
    assert (again.plan.method, again.plan.drinks, again.plan.cups) == ("ranking", 3, 2)
    assert again.plan.expected_order == "BCA"
