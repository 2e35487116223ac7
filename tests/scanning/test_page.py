"""Pages of cards: many on one, any way up, mirrored, of another kit, with corners hidden; what the
reading says of itself."""

from functools import lru_cache

import numpy as np
import pytest
from PIL import Image

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.paper.card_parts import PlaceKind
from panel.scanning import CardKnown, CardReading, Picture, Reason, State, read_page, reader_version
from panel.scanning.straighten import CROP_PER_MM
from tests.scanning.corpus.axes import scan, tidy
from tests.scanning.corpus.ballots import Filled, Taster, drawn, filled
from tests.scanning.corpus.cards import (
    CASES,
    PER_MM,
    PrintedCard,
    printed,
    printed_pages,
)
from tests.scanning.corpus.damage import damaged
from tests.scanning.corpus.hands import PENS, Hand, draw

TRIANGLE = CASES["triangle on a6"]
BLACK = PENS[2]


@lru_cache(maxsize=1)
def deck() -> tuple[PrintedCard, ...]:
    return printed(TRIANGLE, 12)


def known_of(cards: tuple[PrintedCard, ...]) -> dict[str, CardKnown]:
    return {card.text: card.known for card in cards}


def marked(card: PrintedCard, *indices: int, hand: Hand = Hand.FILL) -> Picture:
    """The card's handed-in part with these places marked in black."""
    return drawn(card, dict.fromkeys(indices, (hand, BLACK)), np.random.default_rng(1))


def scanned(picture: Picture, seed: int = 1) -> Picture:
    rng = np.random.default_rng(seed)
    return damaged(picture, rng, scan(rng))


def read_one(picture: Picture, card: PrintedCard) -> CardReading:
    (reading,) = read_page(picture, known_of((card,)).get)
    return reading


def of_question(card: PrintedCard, question: str, kind: PlaceKind = PlaceKind.MARK) -> list[int]:
    """Indices of a question's places."""
    return [
        index
        for index, place in enumerate(card.known.layout.places)
        if place.question == question and place.kind is kind
    ]


KNEW, SURE = "knew", "sure"
DECIDING = next(one.id for one in TRIANGLE.questions if type(one).__name__ == "PickCups")


def reasons(reading: CardReading) -> dict[str | None, Reason]:
    return {one.question: one.reason for one in reading.open}


# --- many cards ---------------------------------------------------------------------------------


def test_four_uncut_cards_are_read_each_by_its_own_marks():
    """The neighbour's corner marks stand 17 mm from each card's own."""
    page = printed_pages(TRIANGLE, 12)[0].copy()
    cards = deck()[:4]
    cells = TRIANGLE_CELLS
    ballots = []
    for number, (card, (left, top)) in enumerate(zip(cards, cells, strict=True)):
        rng = np.random.default_rng(number)
        ballot = filled(card.known, rng, Taster.TOLD)
        ballots.append(ballot)
        part = page[top:, left:]
        for index, (hand, pen) in ballot.hands.items():
            draw(part, rng, card.known.layout.places[index], hand, pen)
    readings = read_page(scanned(page), known_of(cards).get)
    by_text = {reading.text: reading for reading in readings}
    assert len(readings) == 4
    for card, ballot in zip(cards, ballots, strict=True):
        assert by_text[card.text].answers == ballot.meant
        assert by_text[card.text].settled


TRIANGLE_CELLS = [
    (round(x * PER_MM), round(y * PER_MM)) for y in (0.0, 148.5) for x in (0.0, 105.0)
]


def scattered(cards: tuple[PrintedCard, ...]) -> tuple[Picture, list[Filled]]:
    """A dozen cards thrown on a table, each turned another way."""
    rng = np.random.default_rng(8)
    side = 172 * 7
    table = Image.new("L", (4 * side, 3 * side), 120)
    ballots = []
    for number, card in enumerate(cards):
        ballot = filled(card.known, rng, Taster.TOLD)
        ballots.append(ballot)
        thrown = Image.fromarray(drawn(card, ballot.hands, rng))
        thrown = thrown.resize(((105 * 7), round(card.picture.shape[0] / PER_MM * 7)))
        angle = float(rng.uniform(0, 360))
        turned = thrown.rotate(angle, Image.Resampling.BICUBIC, expand=True, fillcolor=120)
        place = (number % 4 * side, number // 4 * side)
        table.paste(turned, (place[0], place[1]))
    return np.asarray(table), ballots


def test_a_dozen_cards_scattered_in_one_photograph():
    cards = deck()
    photo, ballots = scattered(cards)
    readings = {one.text: one for one in read_page(photo, known_of(cards).get)}
    assert set(readings) == {card.text for card in cards}
    for card, ballot in zip(cards, ballots, strict=True):
        assert readings[card.text].open == ()
        assert readings[card.text].answers == ballot.meant


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_any_way_up_reads_alike(turns):
    card = deck()[0]
    picture = scanned(marked(card, of_question(card, KNEW)[0], of_question(card, DECIDING)[1]))
    reading = read_one(np.rot90(picture, turns), card)
    assert reading.answers == {KNEW: ("nothing",), DECIDING: (card.known.codes[1],)}
    assert reading.open == ()


def test_a_card_with_its_stub_still_on_is_read():
    card = deck()[0]
    whole = card.whole.copy()
    for index in (of_question(card, KNEW)[0], of_question(card, DECIDING)[2]):
        place = card.known.layout.places[index]
        draw(whole, np.random.default_rng(2), place, Hand.FILL, BLACK)
    reading = read_one(scanned(whole), card)
    assert reading.answers[DECIDING] == (card.known.codes[2],)


# --- refused by name ----------------------------------------------------------------------------


def test_a_page_without_a_code_has_no_cards():
    assert read_page(np.full((800, 600), 230, np.uint8), lambda _: None) == ()
    noise = np.random.default_rng(1).integers(0, 255, (500, 500), dtype=np.uint8)
    assert read_page(noise, lambda _: None) == ()


def test_a_code_of_another_kit_is_refused():
    card = deck()[0]
    (reading,) = read_page(scanned(card.picture), lambda _: None)
    assert reasons(reading) == {None: Reason.STRANGE}
    assert (reading.answers, reading.number, reading.crop) == ({}, None, None)


def test_the_caller_refuses_in_words_of_its_own():
    card = deck()[0]

    def earlier(_: str) -> CardKnown | None:
        raise PanelError("earlier-print", say("This card is of an earlier print."))

    (reading,) = read_page(scanned(card.picture), earlier)
    assert reasons(reading) == {None: Reason.REFUSED}
    assert "earlier print" in str(reading.open[0].message)


def test_a_mirrored_page_is_refused():
    card = deck()[0]
    reading = read_one(np.fliplr(scanned(marked(card, 0))), card)
    assert reasons(reading) == {None: Reason.MIRRORED}
    assert reading.answers == {}


def hidden(card: PrintedCard, picture: Picture, corners: tuple[int, ...]) -> Picture:
    """Thumbs over corner marks."""
    covered = picture.copy()
    y, x = np.ogrid[: covered.shape[0], : covered.shape[1]]
    for corner in corners:
        at = card.known.layout.marks[corner]
        # As wide as a thumb, its middle nearer to the card's edge than the mark's.
        right, down = (-2.5, 2.5)[at.x > 50], (-3.5, 3.5)[at.y > 50]
        away = np.hypot((x / PER_MM - at.x - right) / 8.0, (y / PER_MM - at.y - down) / 9.5)
        covered[away < 1] = 110
    return covered


@pytest.mark.parametrize("corner", [0, 1, 2, 3])
def test_one_hidden_corner_mark_is_made_up_for(corner):
    card = deck()[1]
    picture = marked(card, of_question(card, KNEW)[0], of_question(card, DECIDING)[0])
    reading = read_one(scanned(hidden(card, picture, (corner,))), card)
    assert reading.answers == {KNEW: ("nothing",), DECIDING: (card.known.codes[0],)}
    assert (reading.corner_marks, reading.open) == (3, ())


@pytest.mark.parametrize("corners", [(2, 3), (0, 3), (0, 2), (1, 3), (1, 2, 3), (0, 1, 2, 3)])
def test_with_two_hidden_corner_marks_nothing_is_read(corners):
    card = deck()[1]
    picture = marked(card, of_question(card, KNEW)[0], of_question(card, DECIDING)[0])
    reading = read_one(scanned(hidden(card, picture, corners)), card)
    assert reading.answers == {}
    assert None in reasons(reading)
    assert reading.crop is not None


# --- what is asked ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("marks", "question", "reason"),
    [
        ("none", DECIDING, Reason.BLANK),
        ("two", DECIDING, Reason.OVER_MARKED),
        ("square alone", DECIDING, Reason.LONE_SQUARE),
        ("nothing and helped", KNEW, Reason.OVER_MARKED),
        ("stray", DECIDING, Reason.UNSURE),
        ("dot", DECIDING, Reason.UNSURE),
        ("circled", DECIDING, Reason.UNSURE),
    ],
)
def test_what_is_not_clear_is_asked(marks, question, reason):
    card = deck()[2]
    rings, squares = of_question(card, DECIDING), of_question(card, DECIDING, PlaceKind.TAKE_BACK)
    knew = of_question(card, KNEW)
    fill = (Hand.FILL, BLACK)
    hands = {
        "none": {knew[0]: fill},
        "two": {knew[0]: fill, rings[0]: fill, rings[1]: fill},
        "square alone": {knew[0]: fill, rings[0]: fill, squares[1]: fill},
        "nothing and helped": {knew[0]: fill, knew[2]: fill, rings[0]: fill},
        "stray": {knew[0]: fill, rings[0]: fill, rings[2]: (Hand.STRAY, BLACK)},
        "dot": {knew[0]: fill, rings[0]: fill, rings[2]: (Hand.DOT, BLACK)},
        "circled": {knew[0]: fill, rings[1]: (Hand.CIRCLED, BLACK)},
    }[marks]
    reading = read_one(scanned(drawn(card, hands, np.random.default_rng(6))), card)
    assert reasons(reading)[question] is reason
    assert question not in reading.answers
    assert set(reasons(reading)) == {question}


def test_a_mark_taken_back_does_not_count():
    card = deck()[3]
    rings, squares = of_question(card, DECIDING), of_question(card, DECIDING, PlaceKind.TAKE_BACK)
    picture = marked(card, of_question(card, KNEW)[0], rings[0], squares[0], rings[2])
    reading = read_one(scanned(picture), card)
    assert reading.answers[DECIDING] == (card.known.codes[2],)
    assert reading.settled


def test_a_blank_side_question_that_may_stay_blank_is_not_asked():
    card = deck()[3]
    picture = marked(card, of_question(card, KNEW)[0], of_question(card, DECIDING)[0])
    reading = read_one(scanned(picture), card)
    assert SURE not in reading.answers
    assert reading.open == ()


# --- what the reading says of itself ------------------------------------------------------------


def test_a_reading_keeps_scores_places_residual_crop_and_version():
    card = deck()[4]
    chosen = of_question(card, DECIDING)[1]
    rng = np.random.default_rng(3)
    picture = damaged(marked(card, of_question(card, KNEW)[0], chosen), rng, tidy(rng))
    reading = read_one(picture, card)
    assert reading.token == card.text[-16:]
    assert reading.version == reader_version()
    assert reading.residual is not None
    assert 0 <= reading.residual < 1
    assert len(reading.places) == len(card.known.layout.places)
    place = reading.places[chosen]
    assert (place.state, place.place) == (State.MARKED, card.known.layout.places[chosen])
    assert place.cover > 0.6
    x, y = (round(value) for value in place.at)
    half = round(place.radius * 0.4)
    assert picture[y - half : y + half, x - half : x + half].mean() < 120
    assert reading.crop is not None
    stays = card.known.layout.stays
    assert reading.crop.shape == (
        round(stays.height * CROP_PER_MM),
        round(stays.width * CROP_PER_MM),
    )
    centre = card.known.layout.places[chosen].centre
    x, y = round(centre.x * CROP_PER_MM), round(centre.y * CROP_PER_MM)
    at = reading.crop[y - 4 : y + 4, x - 4 : x + 4]
    assert at.mean() < 120


def test_the_same_picture_gives_the_same_reading():
    card = deck()[5]
    picture = scanned(marked(card, 0, 4))
    one, other = read_one(picture, card), read_one(picture.copy(), card)
    assert (one.answers, one.places, one.open) == (other.answers, other.places, other.open)
