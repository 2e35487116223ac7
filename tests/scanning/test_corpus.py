"""The reader against a corpus of the project's own cards: simulated hands, simulated cameras.

Every place on a card is a position. A silent error is a mark read as an empty place, or no mark
(white paper, something rubbed out, a speck, a resting pen, a line passing through) read as one,
without anybody being asked. What the counts show is said in docs/scanning.md; larger runs are made
by hand with tests/bench/reading.py. Classes of marks after the requirements of VVSG 2.0 (1.1.6-H
and -I: a line of 1 mm, folds, specks), figures from memory.
"""

from collections.abc import Iterator
from itertools import product

import numpy as np
import pytest

from panel.core.paper.card_parts import PlaceKind
from panel.scanning import Reason, State, read_page
from tests.scanning.corpus.ballots import drawn
from tests.scanning.corpus.cards import CASES, Case, printed
from tests.scanning.corpus.damage import AXES, LEVELS, PHOTO, SCAN, TIDY, Damage, damaged
from tests.scanning.corpus.hands import MEANT, NOT_MEANT, PENS, Hand
from tests.scanning.corpus.scoring import Specimen, Tally, reading_of, specimen, tallied

DENSE = CASES["short scale alone on a6"]
USUAL = tuple(CASES[name] for name in ("triangle on a6", "tetrad on quarter-letter"))
MIXED = (DENSE, DENSE, DENSE, USUAL[0], CASES["order alone on quarter-letter"], DENSE, USUAL[1])
"""Cards with many places first: a small card has 11, this one 30."""


def specimens(how: Damage, messy: bool, first: int, count: int) -> Iterator[Specimen]:
    for seed in range(first, first + count):
        yield specimen(MIXED[seed % len(MIXED)], how, messy, seed)


def nothing_silent(tally: Tally) -> None:
    assert tally.silent == []
    assert tally.wrong == []


def test_clean_scans_marked_as_told_need_nobody():
    tally = tallied(specimens(SCAN, False, 10_000, 350))
    nothing_silent(tally)
    assert tally.positions > 7_500
    assert tally.asked <= 1  # the bar: at most 1 in 500 cards to a person


def test_tidy_photographs_marked_as_told_need_hardly_anybody():
    tally = tallied(specimens(TIDY, False, 20_000, 250))
    nothing_silent(tally)
    assert tally.positions > 5_000
    assert tally.asked <= 8


@pytest.mark.parametrize(
    ("how", "first", "count", "least"),
    [(SCAN, 30_000, 300, 6_500), (TIDY, 40_000, 200, 4_000), (PHOTO, 50_000, 150, 1_800)],
    ids=["scan", "tidy", "photo"],
)
def test_messy_hands_never_get_a_silent_error(how, first, count, least):
    tally = tallied(specimens(how, True, first, count))
    nothing_silent(tally)
    assert tally.positions > least
    assert tally.asked < 0.8 * tally.cards


@pytest.mark.parametrize("axis", [name for name in AXES if name != "fax"])
def test_each_damage_by_itself(axis):
    tally = tallied(specimens(AXES[axis], True, 60_000 + 100 * list(AXES).index(axis), 14))
    nothing_silent(tally)
    assert tally.refused <= (13 if axis == "wave" else 1)


def test_a_scan_in_two_tones_is_refused():
    for one in specimens(AXES["fax"], True, 70_000, 7):
        reading = reading_of(one)
        assert reading is not None
        assert [each.reason for each in reading.open] == [Reason.TWO_TONE]
        assert reading.answers == {}


def test_what_is_beyond_reading_is_refused_not_guessed():
    tally = tallied(specimens(LEVELS["hard"], True, 71_000, 14))
    nothing_silent(tally)
    assert tally.refused >= 10


def placed(case: Case, hand: Hand, pen: int, seed: int, *indices: int) -> dict[int, State]:
    """A card with this hand on some places, scanned and read: the states of those places."""
    card = printed(case)[0]
    rng = np.random.default_rng(seed)
    hands = dict.fromkeys(indices, (hand, PENS[pen]))
    (reading,) = read_page(damaged(drawn(card, hands, rng), rng, SCAN), {card.text: card.known}.get)
    return {index: reading.places[index].state for index in indices}


RINGS = [
    index
    for index, place in enumerate(printed(DENSE)[0].known.layout.places)
    if place.kind is PlaceKind.MARK
]


@pytest.mark.parametrize(("hand", "pen"), [*product(sorted(MEANT), range(len(PENS)))])
def test_every_mark_of_every_pen_is_seen(hand, pen):
    """Two marks on a card, so that the whole-card gate for too many marks has no say."""
    states = [
        state
        for seed in range(3)
        for state in placed(DENSE, hand, pen, seed, RINGS[seed], RINGS[seed + 9]).values()
    ]
    assert State.EMPTY not in states
    if hand not in (Hand.LIGHT, Hand.TICK, Hand.CROSS) and not PENS[pen].grain:
        assert states.count(State.MARKED) >= 5


@pytest.mark.parametrize(("hand", "pen"), [*product(sorted(NOT_MEANT), range(len(PENS)))])
def test_no_trace_of_any_pen_becomes_a_mark(hand, pen):
    for seed in range(3):
        states = placed(DENSE, hand, pen, seed, RINGS[seed], RINGS[seed + 9]).values()
        assert State.MARKED not in states


@pytest.mark.parametrize("hand", [Hand.DOT, Hand.TICK, Hand.FILL])
def test_a_mark_is_judged_alike_in_every_position(hand):
    """The same strokes on every ring in turn, on perfect paper: one judgement."""
    found = set()
    for index in RINGS:
        found |= set(placed_still(index, hand))
    assert len(found) == 1


def placed_still(index: int, hand: Hand) -> set[State]:
    card = printed(DENSE)[0]
    picture = drawn(card, {index: (hand, PENS[2])}, np.random.default_rng(4))
    (reading,) = read_page(picture, {card.text: card.known}.get)
    return {reading.places[index].state}


def test_five_scans_of_a_card_never_turn_a_mark_into_an_empty_place():
    for seed in range(80_000, 80_014):
        case = MIXED[seed % len(MIXED)]
        one = specimen(case, SCAN, True, seed)
        picture = drawn(one.card, one.filled.hands, np.random.default_rng(seed))
        seen: list[set[State]] = [set() for _ in one.card.known.layout.places]
        for scan in range(5):
            again = damaged(picture, np.random.default_rng(100 * seed + scan), TIDY)
            (reading,) = read_page(again, {one.card.text: one.card.known}.get)
            for states, place in zip(seen, reading.places, strict=True):
                states.add(place.state)
        assert not any({State.MARKED, State.EMPTY} <= states for states in seen)


def test_the_corpus_repeats_itself():
    one, other = (specimen(DENSE, PHOTO, True, 5) for _ in range(2))
    assert np.array_equal(one.picture, other.picture)
    assert one.filled.meant == other.filled.meant
