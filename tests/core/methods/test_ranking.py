"""What a ranking owes: balanced orders for every plan, a ballot that can be answered, a card, no
right or wrong, and a page in the docs."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from panel.core.ballot import check_answers
from panel.core.drafts import plan_refused
from panel.core.errors import RefusalsError
from panel.core.methods import METHODS, method_named
from panel.core.methods.method import outcome_of, said_by_place
from panel.core.methods.ranking import METHOD, MOST_CUPS, some_of
from panel.core.names import Aim, Channel, Knew, Outcome
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.card_parts import PlaceKind
from panel.core.paper.marked import marked_answer
from panel.core.plan import Plan
from panel.core.side_questions import ballot_questions

PLAN = Plan(method="ranking", aim=Aim.PREFERENCE, sides=2, drinks=4)
CODES = ("482", "719", "253", "604", "835", "367")
PLANS = [
    replace(PLAN, drinks=drinks, cups=cups)
    for drinks in range(3, 9)
    for cups in (0, *some_of(replace(PLAN, drinks=drinks)))
    if cups or drinks <= MOST_CUPS
]


def test_its_name_finds_it() -> None:
    assert method_named("ranking") is METHODS["ranking"] is METHOD


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: f"{plan.drinks}-{plan.cups}")
def test_every_beer_stands_in_every_place_equally_often(plan: Plan) -> None:
    orders = METHOD.orders(plan)
    places = Counter(place for order in orders for place in enumerate(order))
    assert {len(order) for order in orders} == {METHOD.cups_of(plan)} == {plan.cups or plan.drinks}
    assert len(places) == plan.drinks * METHOD.cups_of(plan)
    assert len(set(places.values())) == 1


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: f"{plan.drinks}-{plan.cups}")
def test_its_questions_fit_a_card_of_either_paper(plan: Plan) -> None:
    questions = ballot_questions(METHOD, plan)
    for card in ("a5", "half-letter"):
        layout = card_layout(questions, METHOD.cups_of(plan), (), CARD_FORMATS[card])
        cups = METHOD.cups_of(plan)
        order = [place for place in layout.places if place.question == "order"]
        assert len(order) == cups * cups
        assert {place.kind for place in order} == {PlaceKind.MARK}


def test_marks_on_a_card_are_an_order() -> None:
    """One ring in each row and column is an order; two in one row are none."""
    (question,) = [one for one in ballot_questions(METHOD, PLAN) if one.id == "order"]
    layout = card_layout(ballot_questions(METHOD, PLAN), 4, (), CARD_FORMATS["a5"])
    filled = {(1, "3"), (2, "1"), (3, "4"), (4, "2")}
    marks = [place for place in layout.places if (place.position, place.value) in filled]
    answer = marked_answer(question, CODES[:4], marks)
    assert answer == ("719", "604", "482", "253")
    taken = check_answers((question,), CODES[:4], {"order": answer}, "order", Channel.SCANNED)
    assert taken == {"order": answer}
    twice = [place for place in layout.places if (place.position, place.value) in {(1, "1")}]
    with pytest.raises(RefusalsError):
        check_answers(
            (question,),
            CODES[:4],
            {"order": marked_answer(question, CODES[:4], [*marks, *twice])},
            "order",
            Channel.SCANNED,
        )


@pytest.mark.parametrize("given", [("482", "719"), ("482", "482", "719", "253"), ("999",) * 4])
def test_an_order_that_is_none_is_refused(given: tuple[str, ...]) -> None:
    questions = ballot_questions(METHOD, PLAN)
    answers = {"knew": (str(Knew.NOTHING),), "order": given}
    with pytest.raises(RefusalsError) as refusal:
        check_answers(questions, CODES[:4], answers, "order", Channel.PHONE)
    assert {one.field for one in refusal.value.refusals} == {"order"}


def test_no_order_is_a_wrong_one() -> None:
    codes = CODES[:4]
    for answer in (codes, codes[::-1]):
        assert outcome_of(METHOD, PLAN, "ABDC", codes, answer) is Outcome.PLACED
    assert outcome_of(METHOD, PLAN, "ABDC", codes, ()) is Outcome.NO_CHOICE
    assert said_by_place(codes, ("253", "482", "604", "719")) == ("3", "1", "4", "2")


@pytest.mark.parametrize(
    ("drinks", "cups", "words"),
    [
        (2, 0, "3 to 8 drinks"),
        (4, 5, "all, or one of these numbers of cups: 2, 3"),
        (8, 0, "one of these numbers of cups: 2, 4, 6"),
        (8, 7, "no tasting any more"),
    ],
)
def test_a_plan_that_cannot_be_served_is_refused(drinks: int, cups: int, words: str) -> None:
    refused = plan_refused(replace(PLAN, drinks=drinks, cups=cups))
    assert any(words in str(one.message) for one in refused)


def test_it_has_a_page_in_the_docs() -> None:
    page = (Path(__file__).parents[3] / "docs/methods/ranking.md").read_text(encoding="utf-8")
    assert page.startswith(f"# {METHOD.name}\n")
    for heading in ("## When", "## On the tray", "## How it is counted", "## Sources"):
        assert heading in page
    for order in METHOD.orders(replace(PLAN, drinks=3)):
        assert order in page
