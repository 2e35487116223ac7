"""The score of a trial: right, left to a person, silent error, and what bound that gives."""

import pytest
from scipy.stats import beta

from panel.core.card_reading import CardRead, OpenPoint, PlaceRead
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.methods import METHODS, method_named
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.card_parts import PlaceKind
from panel.core.reader_trial import (
    CardSeen,
    Look,
    Outcome,
    Sum,
    score_card,
    seen_on_card,
    summed,
    word_of,
)
from panel.core.side_questions import ballot_questions
from tests.builders import plan_for

CODES = ("482", "719", "356")


def seen(noted: dict[str, tuple[str, ...]], method: str = "triangle", marks: str = "") -> CardSeen:
    known = method_named(method)
    questions = ballot_questions(known, plan_for(method))
    layout = card_layout(questions, known.cups, known.references, CARD_FORMATS["a6"])
    return seen_on_card(questions, CODES[: known.cups], layout.places, noted, marks)


def read(card: CardSeen, *, states=None, opened=(), answers=None, number="17 S") -> CardRead:
    """What a reader says that sees every place as people do, but for `states`."""
    filled = {place for places in card.filled.values() for place in places}
    places = tuple(
        PlaceRead(
            question=one.question, position=one.position, value=one.value, kind=str(one.kind),
            state=(states or {}).get((one.question, one.position, one.value, str(one.kind)))
            or ("marked" if one in filled else "empty"),
            doubt="", cover=0.0, depth=0.0, band=0.0, outline=9.0, box=(0.0, 0.0, 1.0, 1.0),
        )
        for one in card.places
    )  # fmt: skip
    points = tuple(
        OpenPoint(question=name, reason="unsure", message=say("A ring is a little dark."))
        for name in opened
    )
    return CardRead(
        number=number, answers=answers or {}, open=points, places=places, corner_marks=4,
        residual=0.1, contrast=0.9, outlines=9.0, version="1-test", picture=None,
    )  # fmt: skip


NOTED = {"knew": ("nothing",), "odd": ("719", "x482"), "sure": ("guess",)}
ANSWERS = {"knew": ("nothing",), "odd": ("719",), "sure": ("guess",)}


def test_what_is_read_as_people_see_it_is_right_place_by_place():
    card = seen(NOTED)
    score = score_card(card, read(card, answers=ANSWERS))
    assert {one.outcome for one in score.places} == {Outcome.RIGHT}
    assert len(score.places) == len(card.places)
    assert set(score.answers.values()) == {Outcome.RIGHT}
    looks = [one.look for one in score.places if one.question == "odd"]
    assert sorted(looks) == sorted(
        [Look.BACK, Look.FILLED, Look.EMPTY, Look.SQUARE_FILLED, *2 * [Look.SQUARE_EMPTY]]
    )


@pytest.mark.parametrize(
    ("place", "state"),
    [
        (("odd", 2, "", "mark"), "empty"),  # a mark that was missed
        (("odd", 3, "", "mark"), "marked"),  # a mark that was made up
        (("odd", 1, "", "take-back"), "empty"),  # a mark that was not taken back
    ],
)
def test_a_place_read_clearly_and_wrongly_is_a_silent_error(place, state):
    card = seen(NOTED)
    wrong = {"odd": ("356",)}
    score = score_card(card, read(card, states={place: state}, answers={**ANSWERS, **wrong}))
    assert summed(score.places) == Sum(len(card.places) - 1, 0, 1)
    assert score.answers["odd"] is Outcome.SILENT


def test_what_is_asked_about_is_left_to_a_person_even_if_it_is_read_wrongly():
    card = seen(NOTED)
    given = {name: answer for name, answer in ANSWERS.items() if name != "odd"}
    states = {("odd", 3, "", "mark"): "marked"}
    score = score_card(card, read(card, states=states, opened=("odd",), answers=given))
    assert {one.outcome for one in score.places if one.question == "odd"} == {Outcome.PERSON}
    assert summed(score.places) == Sum(len(card.places) - 6, 6, 0)
    assert score.answers == {**dict.fromkeys(ANSWERS, Outcome.RIGHT), "odd": Outcome.PERSON}


@pytest.mark.parametrize(("opened", "number"), [(("",), "17 S"), ((), "")])
def test_of_a_card_that_was_not_read_every_place_is_left_to_a_person(opened, number):
    card = seen(NOTED)
    score = score_card(card, read(card, opened=opened, number=number))
    assert summed(score.places) == Sum(0, len(card.places), 0)


def test_a_question_of_which_people_cannot_tell_is_left_out():
    card = seen({**NOTED, "sure": ("?",)})
    score = score_card(card, read(card, answers=ANSWERS))
    assert "sure" not in score.answers
    assert {one.question for one in score.places} == {"knew", "odd"}


def test_two_cups_marked_are_two_filled_rings_and_any_one_answer_is_wrong():
    card = seen({**NOTED, "odd": ("482", "719")})
    score = score_card(card, read(card, answers={**ANSWERS, "odd": ("482",)}))
    assert summed(score.places).silent == 0  # the marks were seen, what was made of them is wrong
    assert score.answers["odd"] is Outcome.SILENT


@pytest.mark.parametrize("method", METHODS)
def test_every_place_of_every_method_has_a_word_of_its_own(method):
    """So that each can be noted in a sheet, alone and taken back."""
    known = method_named(method)
    plan = plan_for(method)
    questions = ballot_questions(known, plan)
    cups = known.cups_of(plan)
    codes = tuple(str(code) for code in range(411, 411 + 8 * 12, 12))[:cups]
    form = CARD_FORMATS["a5"]
    places = card_layout(questions, cups, known.references, form).places
    asked = {one.id: one for one in questions}
    squares = {_of(one): one for one in places if one.kind is PlaceKind.TAKE_BACK}
    rings = [one for one in places if one.kind is PlaceKind.MARK]
    for ring in rings:
        word = word_of(asked[ring.question], codes, ring)
        alone = seen_on_card(questions, codes, places, {ring.question: (word,)})
        assert alone.filled[ring.question] == {ring}
        if _of(ring) in squares:
            back = seen_on_card(questions, codes, places, {ring.question: (f"x{word}",)})
            assert back.filled[ring.question] == {ring, squares[_of(ring)]}
    assert len({(one.question, word_of(asked[one.question], codes, one)) for one in rings}) == len(
        rings
    )


def _of(place):
    return place.question, place.position, place.value


@pytest.mark.parametrize(
    ("noted", "word"), [({"odd": ("111",)}, "111"), ({"knew": ("xnothing",)}, "xnothing")]
)
def test_a_word_that_is_no_place_of_the_card_is_refused(noted, word):
    with pytest.raises(PanelError, match=f"“{word}” is no place") as refused:
        seen(noted)
    assert refused.value.field in noted


def test_the_bound_is_the_rule_of_three_where_nothing_was_seen_and_exact_elsewhere():
    """Two-sided 90 % is one-sided 95 %; scipy.stats.beta as an outside value."""
    assert Sum(3_600, 40, 0).at_most == pytest.approx(1 / 1_200)
    assert Sum(998, 0, 2).at_most == pytest.approx(beta.ppf(0.95, 3, 998))
    assert Sum(0, 12, 0).at_most is None
    assert Sum(1, 0, 0).at_most == 1.0


def test_the_places_of_a_card_are_the_same_on_every_size():
    for name in ("triangle", "tetrad", "duo-trio"):
        known = method_named(name)
        questions = ballot_questions(known, plan_for(name))
        every = []
        for size in ("a6", "a5-large-print"):
            layout = card_layout(questions, known.cups, known.references, CARD_FORMATS[size])
            every.append({(p.question, p.position, p.value, p.kind) for p in layout.places})
        assert every[0] == every[1]
