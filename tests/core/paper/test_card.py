"""The card's layout: every shape of question has its places, nothing comes too near, the layout
knows nothing of words, orders or what was told, and what does not fit is refused."""

from dataclasses import replace
from itertools import combinations, pairwise
from math import dist

import pytest

from panel.core.ballot import check_answers
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.methods import METHODS
from panel.core.names import Channel, Paper, Smell, Step
from panel.core.paper.card import card_layout, deciding_question
from panel.core.paper.card_format import CARD_FORMATS, card_format_named, card_formats
from panel.core.paper.card_parts import (
    CLEAR,
    CODE_QUIET,
    MARK_CLEAR,
    MARK_RADII,
    CardLayout,
    Place,
    PlaceKind,
)
from panel.core.paper.card_pieces import CODE_WIDTH
from panel.core.paper.geometry import Box
from panel.core.paper.marked import marked_answer, standing_marks
from panel.core.plan import Plan
from panel.core.questions import (
    NO_CHOICE,
    OrderCups,
    Question,
    ScalePerCup,
    When,
    Words,
    YesNoPerCup,
)
from panel.core.side_questions import KNEW, SURE, WENT_BY, WORDS, ballot_questions
from tests.kinds import FORCED, OF_TWO

SCALE = ScalePerCup(
    id="liking",
    text=say("How much do you like each cup?"),
    short=say("Liking"),
    positions=(1, 2, 3),
    points=9,
    low=say("dislike extremely"),
    high=say("like extremely"),
)
YES_NO = YesNoPerCup(
    id="same",
    text=say("Is it the one you learned?"),
    short=say("Same"),
    positions=(1, 2, 3),
    yes=say("yes"),
    no=say("no"),
)
ORDER = OrderCups(
    id="order",
    text=say("Put the cups in order."),
    short=say("Order"),
    positions=(1, 2, 3),
    first=say("most bitter"),
    last=say("least bitter"),
)


def plan_of(method: str, **more: object) -> Plan:
    return Plan(method=method, attribute="bitter", stronger="B", **more)  # type: ignore[arg-type]


def layout_of(method: str, format: str, **more: object) -> CardLayout:
    known = METHODS[method]
    questions = ballot_questions(known, plan_of(method, **more))
    return card_layout(questions, known.cups, known.references, CARD_FORMATS[format])


def without(method: str, format: str) -> dict[str, bool]:
    """What is not asked beside two cups with two rings each, where they leave no room for it."""
    if method != "a-not-a-both" or format in ("a5", "half-letter"):
        return {}
    return {"ask_words": False, "ask_sure": "large" in format}


CASES: dict[str, tuple[tuple[Question, ...], int, tuple[int, ...], str]] = {
    **{
        f"{method} on {format}": (
            ballot_questions(
                METHODS[method],
                plan_of(method, **without(method, format)),
            ),
            METHODS[method].cups,
            METHODS[method].references,
            format,
        )
        for method in OF_TWO
        for format in CARD_FORMATS
    },
    **{
        f"all side questions of {method} on {format}": (
            ballot_questions(
                METHODS[method],
                plan_of(method, ask_went_by=True, ask_prefer=True, no_preference=True),
            ),
            METHODS[method].cups,
            METHODS[method].references,
            format,
        )
        for method in OF_TWO
        for format in ("a5", "half-letter")
    },
    **{
        f"nose first, {method} on {format}": (
            ballot_questions(
                METHODS[method],
                plan_of(
                    method,
                    smell=Smell.FIRST,
                    no_preference=True,
                    ask_sure=format not in ("a6", "quarter-letter"),
                ),
            ),
            METHODS[method].cups,
            METHODS[method].references,
            format,
        )
        for method in ("triangle", "duo-trio", "paired-preference", "tetrad", "two-out-of-five")
        for format in CARD_FORMATS
        if METHODS[method].cups < 5 or format not in ("a6", "quarter-letter")
    },
    "scale": ((KNEW, SCALE, SURE, WORDS), 3, (), "a5"),
    "yes or no": ((KNEW, YES_NO, SURE, WORDS), 3, (), "half-letter"),
    "order": ((KNEW, ORDER, WENT_BY, WORDS), 3, (), "a5"),
    "order, then a scale beside it": (
        (ORDER, replace(SCALE, when=When.AFTER, points=5)),
        3,
        (),
        "a5",
    ),
}


@pytest.fixture(params=CASES.values(), ids=CASES.keys())
def layout(request: pytest.FixtureRequest) -> CardLayout:
    questions, cups, references, format = request.param
    return card_layout(questions, cups, references, CARD_FORMATS[format])


def box_of(place: Place) -> Box:
    x, y, radius = place.centre.x, place.centre.y, place.radius
    return Box(x - radius, y - radius, 2 * radius, 2 * radius)


def rings(layout: CardLayout) -> list[Place]:
    return [place for place in layout.places if place.kind is PlaceKind.MARK]


def nearest(box: Box, place: Place) -> float:
    """From a place's centre to the nearest point of a box."""
    x = min(max(place.centre.x, box.x), box.right)
    y = min(max(place.centre.y, box.y), box.bottom)
    return dist((x, y), (place.centre.x, place.centre.y))


def test_all_places_lie_on_the_part_that_stays(layout):
    within = layout.stays.inset(5)
    assert all(within.holds(box_of(place)) for place in layout.places)
    assert all(within.holds(code.box) for code in layout.codes)
    assert all(within.holds(slot.box) for slot, _ in layout.texts)


def test_no_text_comes_near_a_ring(layout):
    lines = [slot.box for slot, _ in layout.texts] + [slot.box for slot in layout.ways]
    assert layout.leads
    lines += [code.box for code in layout.codes] + [lead.box for lead in layout.leads]
    lines += [area.box for area in layout.words]
    lines += [Box(0, y, layout.format.width, 0) for y in layout.rules]
    for ring in rings(layout):
        assert min(nearest(box, ring) for box in lines) >= CLEAR * ring.radius - 1e-9


def test_rings_keep_apart_and_squares_keep_to_their_own(layout):
    for one, other in combinations(rings(layout), 2):
        apart = dist((one.centre.x, one.centre.y), (other.centre.x, other.centre.y))
        assert apart >= 9.0 - 1e-9
    squares = [place for place in layout.places if place.kind is PlaceKind.TAKE_BACK]
    for square in squares:
        of = (square.question, square.position, square.value)
        far = {
            (ring.question, ring.position, ring.value): nearest(box_of(square), ring)
            for ring in rings(layout)
        }
        own = far.pop(of)
        assert CLEAR * 2.5 - 1e-9 <= own < min(far.values())


def test_the_code_keeps_its_quiet_and_the_marks_their_white(layout):
    quiet = layout.code.inset(-CODE_QUIET)
    assert layout.stays.inset(2).holds(layout.code)
    things = [slot.box for slot, _ in layout.texts] + [slot.box for slot in layout.ways]
    things += [box_of(place) for place in layout.places] + [code.box for code in layout.codes]
    things += [area.box for area in layout.words]
    assert not any(quiet.meets(box) for box in [*things, layout.header])
    for mark in layout.marks:
        reach = MARK_RADII[0] + MARK_CLEAR
        white = Box(mark.x - reach, mark.y - reach, 2 * reach, 2 * reach)
        assert not any(white.meets(box, -1e-6) for box in [*things, layout.header])
        assert not quiet.meets(white.inset(MARK_CLEAR))


def test_marks_sit_where_the_reader_expects_them(layout):
    inset = {
        (round(min(mark.x, layout.stays.width - mark.x), 6), round(mark.y, 6))
        for mark in layout.marks
    }
    assert inset == {(8.5, 8.5), (8.5, round(layout.stays.height - 8.5, 6))}


def test_texts_do_not_overlap(layout):
    boxes = [slot.box for slot, _ in layout.texts] + [code.box for code in layout.codes]
    boxes += [slot.box for slot in layout.ways] + [area.box for area in layout.words]
    for one, other in combinations(boxes, 2):
        assert not one.meets(other, -0.2)


def test_every_cup_has_its_code_in_serving_order():
    layout = layout_of("tetrad", "a6")
    assert [code.position for code in layout.codes] == [1, 2, 3, 4]
    lefts = [code.box.x for code in layout.codes]
    assert lefts == sorted(lefts)


@pytest.mark.parametrize("format", CARD_FORMATS)
@pytest.mark.parametrize("method", [*FORCED, "same-different"])
def test_neighbouring_codes_are_two_numbers(method, format):
    """Three bold digits leave white before the next cup's, with five cups on the smallest card."""
    codes = layout_of(method, format).codes
    large = [code for code in codes if code.size >= 24]
    assert len(large) == METHODS[method].cups
    for one, other in pairwise(large):
        between = other.box.x + other.box.width / 2 - one.box.x - one.box.width / 2
        assert between - one.size * CODE_WIDTH >= 2.7


@pytest.mark.parametrize("format", CARD_FORMATS)
@pytest.mark.parametrize("method", ["a-not-a", "a-not-a-both"])
def test_codes_below_one_another_stand_apart_and_a_known_cup_has_a_small_one(method, format):
    codes = layout_of(method, format, **without(method, format)).codes
    known, *asked = codes
    assert (known.position, known.size) == (1, CARD_FORMATS[format].type.side_code)
    assert {one.size for one in asked} == {CARD_FORMATS[format].type.code}
    for one, other in pairwise(codes):
        assert other.box.y - (one.box.y + one.box.height) >= 1.0


@pytest.mark.parametrize("format", CARD_FORMATS.values(), ids=CARD_FORMATS)
def test_codes_are_at_least_24_points(format):
    assert format.type.code >= 24
    if "large-print" in format.id:
        assert format.type.label[-1] >= 16


# --- from places back to answers -----------------------------------------------------------------

CODES = ("457", "542", "267", "813", "926")


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_filled_places_become_answers_that_the_ballot_door_takes(case):
    questions, cups, references, format = case
    layout = card_layout(questions, cups, references, CARD_FORMATS[format])
    codes = CODES[:cups]
    filled: list[Place] = []
    for question in questions:
        own = [ring for ring in rings(layout) if ring.question == question.id]
        if isinstance(question, Words):
            assert not own
        elif isinstance(question, YesNoPerCup | ScalePerCup):
            filled += [
                [ring for ring in own if ring.position == position][-1]
                for position in question.positions
            ]
        elif isinstance(question, OrderCups):
            filled += [ring for ring in own if ring.value == str(4 - ring.position)]
        else:
            filled += own[-getattr(question, "pick", 1) :]
    given = {one.id: marked_answer(one, codes, filled) for one in questions}
    deciding = deciding_question(questions)
    taken = check_answers(questions, codes, given, deciding.id, Channel.SCANNED)
    assert set(taken) == {one.id for one in questions if not isinstance(one, Words)}


def test_a_taken_back_mark_is_no_mark():
    layout = layout_of("triangle", "a6")
    ring, square, other = [place for place in layout.places if place.question == "odd"][:3]
    assert standing_marks([ring, square, other]) == (other,)
    question = deciding_question(ballot_questions(METHODS["triangle"], plan_of("triangle")))
    assert marked_answer(question, CODES[:3], [ring, square, other]) == ("542",)


def test_two_cups_on_one_rank_make_no_order():
    layout = card_layout((ORDER,), 3, (), CARD_FORMATS["a6"])
    ranks = {1: "1", 2: "1", 3: "3"}
    filled = [ring for ring in rings(layout) if ranks[ring.position] == ring.value]
    with pytest.raises(PanelError):
        check_answers(
            (ORDER,), CODES[:3], {"order": marked_answer(ORDER, CODES[:3], filled)}, "order",
            Channel.SCANNED,
        )  # fmt: skip


def test_no_preference_has_a_place_of_its_own():
    layout = layout_of("paired-preference", "a6", no_preference=True)
    (place,) = [ring for ring in rings(layout) if ring.value == NO_CHOICE]
    assert (place.question, place.position) == ("prefer", 0)


def test_a_reference_has_a_code_and_no_ring():
    layout = layout_of("duo-trio", "a6")
    assert {ring.position for ring in rings(layout) if ring.question == "same"} == {2, 3}
    assert [code.position for code in layout.codes] == [1, 2, 3]


def test_only_the_deciding_question_has_small_squares():
    layout = layout_of("triangle", "a5", ask_prefer=True)
    squares = {place.question for place in layout.places if place.kind is PlaceKind.TAKE_BACK}
    assert squares == {"odd"}


def test_nose_first_both_choices_stand_under_the_same_codes_with_their_squares():
    layout = layout_of("triangle", "a5", smell=Smell.FIRST)
    rows = {
        name: [place for place in rings(layout) if place.question == name]
        for name in ("nose", "odd")
    }
    assert [code.position for code in layout.codes] == [1, 2, 3]
    for upper, lower, code in zip(rows["nose"], rows["odd"], layout.codes, strict=True):
        assert upper.centre.x == lower.centre.x == code.box.centre.x
        assert upper.centre.y < lower.centre.y
    squares = {place.question for place in layout.places if place.kind is PlaceKind.TAKE_BACK}
    assert squares == {"nose", "odd"}
    assert len(layout.leads) == 2


def test_which_choice_decides_moves_nothing_on_the_card():
    plans = [plan_of("triangle", smell=Smell.FIRST, deciding_step=step) for step in Step]
    nose, taste = (
        card_layout(ballot_questions(METHODS["triangle"], plan), 3, (), CARD_FORMATS["a5"])
        for plan in plans
    )
    assert nose.places == taste.places


# --- what the layout must not know -------------------------------------------------------------


def test_places_do_not_depend_on_words():
    short = ballot_questions(METHODS["3-afc"], replace(plan_of("3-afc"), attribute="dry"))
    long = ballot_questions(
        METHODS["3-afc"], replace(plan_of("3-afc"), attribute="reminiscent of ripe banana")
    )
    format = CARD_FORMATS["a6"]
    assert card_layout(short, 3, (), format).places == card_layout(long, 3, (), format).places


# --- refusals -----------------------------------------------------------------------------------


def test_too_many_questions_are_refused_with_the_way_out():
    with pytest.raises(PanelError) as refusal:
        layout_of("triangle", "a6", ask_went_by=True, ask_prefer=True)
    assert refusal.value.code == "card-too-full"
    assert "A5, two on a sheet of A4" in str(refusal.value)
    assert "Anything you would like to say" in str(refusal.value)


def test_where_there_is_no_larger_card_less_is_to_be_asked():
    with pytest.raises(PanelError, match="no larger one"):
        layout_of("triangle", "a5-large-print", ask_went_by=True, ask_prefer=True)


def test_a_nine_point_scale_needs_a_wider_card():
    with pytest.raises(PanelError) as refusal:
        card_layout((SCALE,), 3, (), CARD_FORMATS["a6"])
    assert refusal.value.code == "card-too-narrow"
    assert "How much do you like each cup?" in str(refusal.value)


def test_a_card_without_a_question_about_its_cups_is_a_mistake():
    with pytest.raises(ValueError, match="about its cups"):
        card_layout((KNEW, WORDS), 3, (), CARD_FORMATS["a6"])


def test_cards_are_known_by_name_and_paper():
    assert card_format_named("a6").sheet.count == 4
    assert card_formats(Paper.LETTER)[0].id == "quarter-letter"
    with pytest.raises(PanelError, match="a5-large-print"):
        card_format_named("a7")
