"""The reader against a corpus of the project's own cards: simulated hands, simulated cameras.

Every place on a card is a position. A silent error is a mark read as an empty place, or no mark
(white paper, something rubbed out, a speck, a resting pen, a line passing through) read as one,
without anybody being asked. What the counts show is said in docs/scanning.md; larger runs are made
by hand with tests/bench/reading.py. Classes of marks after the requirements of VVSG 2.0 (1.1.6-H
and -I: a line of 1 mm, folds, specks), figures from memory.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import islice, product

import numpy as np
import pytest

from panel.core.paper.card_parts import PlaceKind
from panel.scanning import Reason, State, read_page
from tests.bench.reading import jobs
from tests.scanning.corpus.axes import AXES, KINDS, NEVER_MIXED, Level, poor, scan, tidy
from tests.scanning.corpus.ballots import Taster, drawn, filled
from tests.scanning.corpus.cards import CASES, Case, known_of, printed
from tests.scanning.corpus.coverage import drawn_values, every_value
from tests.scanning.corpus.damage import Damage, damaged
from tests.scanning.corpus.hands import MEANT, NEITHER, NOT_MEANT, PENS, Hand
from tests.scanning.corpus.scoring import (
    Specimen,
    Tally,
    joined,
    mixed_cases,
    reading_of,
    specimen,
    tallied,
)

DENSE = CASES["short scale alone on a6"]
USUAL = tuple(CASES[name] for name in ("triangle on a6", "tetrad on quarter-letter"))
MIXED = (DENSE, DENSE, DENSE, USUAL[0], CASES["order alone on quarter-letter"], DENSE, USUAL[1])
"""Cards with many places first: a small card has 11, this one 30."""


def specimens(how: Level, taster: Taster, first: int, count: int) -> Iterator[Specimen]:
    for seed in range(first, first + count):
        yield specimen(MIXED[seed % len(MIXED)], how, taster, seed)


def nothing_silent(tally: Tally) -> None:
    assert tally.silent == []
    assert tally.wrong == []


def test_a_run_draws_every_value_of_every_axis():
    """Hands, pens, questions, cards and stretches of each damage, in a run's first pictures."""
    tally = Tally()
    for name, kind, taster, seed in islice(jobs(1, axes=True), 4000):
        case, rng = CASES[name], np.random.default_rng(seed)
        how, known = KINDS[kind](rng), known_of(case)
        tally.drawn.update(drawn_values(known, filled(known, rng, taster), how, case))
    assert tally.never_drawn() == ()
    assert len(set(every_value())) > 100
    assert {case.name for case in mixed_cases()} == set(CASES)


def test_clean_scans_marked_as_told_need_nobody():
    tally = tallied(specimens(scan, Taster.TOLD, 10_000, 340))
    nothing_silent(tally)
    assert tally.positions > 7_000
    assert tally.asked <= 1  # the bar: at most 1 in 500 cards to a person


def test_tidy_photographs_marked_as_told_need_hardly_anybody():
    tally = tallied(specimens(tidy, Taster.TOLD, 20_000, 200))
    nothing_silent(tally)
    assert tally.positions > 4_400
    assert tally.asked <= 4  # the bar: at most 1 in 50 cards to a person


def test_marks_of_any_kind_are_read_when_every_answer_is_clear():
    """Ticks, crosses, dots, lines, light pencil, off the middle, half or over full, taken back."""
    parts = [
        tallied(specimens(level, Taster.MESSY, first, 220))
        for level, first in ((scan, 30_000), (tidy, 40_000))
    ]
    tally = joined(parts)
    nothing_silent(tally)
    assert tally.positions > 9_500
    assert tally.needless == tally.asked <= 0.05 * tally.cards


@pytest.mark.parametrize(
    ("how", "first", "count", "least"),
    [(scan, 32_000, 150, 3_200), (tidy, 42_000, 100, 2_000), (poor, 52_000, 80, 1_000)],
    ids=["scan", "tidy", "poor"],
)
def test_careless_hands_never_get_a_silent_error(how, first, count, least):
    tally = tallied(specimens(how, Taster.CARELESS, first, count))
    nothing_silent(tally)
    assert tally.positions > least
    assert tally.asked < 0.8 * tally.cards


@pytest.mark.parametrize("axis", [name for name in KINDS if name not in ("two tones", "hard")])
def test_each_damage_by_itself(axis):
    first = 60_000 + 100 * list(KINDS).index(axis)
    tally = tallied(specimens(KINDS[axis], Taster.CARELESS, first, 8))
    nothing_silent(tally)
    assert tally.refused <= (6 if axis in ("poor", "wave") else 2)


def test_a_scan_in_two_tones_is_refused():
    for one in specimens(KINDS["two tones"], Taster.CARELESS, 70_000, 7):
        reading = reading_of(one)
        assert reading is not None
        assert [each.reason for each in reading.open] == [Reason.TWO_TONE]
        assert reading.answers == {}


def test_what_is_beyond_reading_is_refused_not_guessed():
    tally = tallied(specimens(KINDS["hard"], Taster.CARELESS, 71_000, 12))
    nothing_silent(tally)
    assert tally.refused >= 8


def test_the_axes_are_all_damages():
    assert set(AXES) <= set(KINDS)
    assert set(NEVER_MIXED) < set(AXES)


def placed(case: Case, hand: Hand, pen: int, seed: int, *indices: int) -> dict[int, State]:
    """A card with this hand on some places, scanned and read: the states of those places."""
    card = printed(case)[0]
    rng = np.random.default_rng(seed)
    hands = dict.fromkeys(indices, (hand, PENS[pen]))
    picture = damaged(drawn(card, hands, rng), rng, scan(rng))
    (reading,) = read_page(picture, {card.text: card.known}.get)
    return {index: reading.places[index].state for index in indices}


RINGS = [
    index
    for index, place in enumerate(printed(DENSE)[0].known.layout.places)
    if place.kind is PlaceKind.MARK
]
ROWS = (1, 2, 3)


@pytest.mark.parametrize(("hand", "pen"), [*product(sorted(MEANT), range(len(PENS)))])
def test_every_mark_of_every_pen_is_seen(hand, pen):
    """Two marks on a card, so that the whole-card gate for too many marks has no say."""
    states = [
        state
        for seed in range(3)
        for state in placed(DENSE, hand, pen, seed, RINGS[seed], RINGS[seed + 9]).values()
    ]
    assert State.EMPTY not in states
    assert states.count(State.MARKED) >= (4 if hand is Hand.LIGHT or PENS[pen].grain else 5)


@pytest.mark.parametrize(("hand", "pen"), [*product(sorted(NOT_MEANT | NEITHER), range(len(PENS)))])
def test_no_trace_of_any_pen_becomes_a_mark(hand, pen):
    for seed in range(3):
        states = placed(DENSE, hand, pen, seed, RINGS[seed], RINGS[seed + 9]).values()
        assert State.MARKED not in states
        assert hand not in NEITHER or State.EMPTY not in states


@pytest.mark.parametrize(
    ("hand", "pen", "how", "never"),
    [
        (Hand.ERASED, 0, Damage(gamma=1.8, noise=3, jpeg=80), State.MARKED),
        (Hand.ERASED, 0, Damage(noise=16, jpeg=80), State.MARKED),
        (Hand.STRAY, 3, Damage(crease=0.5, noise=3, jpeg=80), State.MARKED),
        (Hand.STRAY, 3, Damage(stain=0.35, noise=3, jpeg=80), State.MARKED),
        (Hand.DOT, 3, Damage(blur=2.5, noise=3, jpeg=80), State.MARKED),
        (Hand.LIGHT, 0, Damage(glare=0.7, noise=3, jpeg=80), State.EMPTY),
        (Hand.CIRCLED, 0, Damage(gamma=0.6, noise=3, jpeg=80), State.EMPTY),
    ],
    ids=["darkened", "noise", "crease", "stain", "blur", "glare", "circled"],
)
def test_what_was_once_misread_is_not_again(hand, pen, how, never):
    """Each with the damage under which it was read wrongly before; rings and small squares."""
    card = printed(DENSE)[0]
    for seed in range(8):
        rng = np.random.default_rng(95_000 + seed)
        indices = [seed, seed + 11] if hand is not Hand.CIRCLED else [RINGS[seed], RINGS[seed + 6]]
        picture = damaged(drawn(card, dict.fromkeys(indices, (hand, PENS[pen])), rng), rng, how)
        (reading,) = read_page(picture, {card.text: card.known}.get)
        assert never not in {reading.places[index].state for index in indices}


@pytest.mark.parametrize("hand", [Hand.DOT, Hand.TICK, Hand.FILL, Hand.CROSS, Hand.STRAY])
def test_a_mark_is_judged_alike_in_every_position(hand):
    """The same strokes on every ring in turn, on perfect paper, either way up: one judgement."""
    found = set()
    for index in RINGS:
        found |= set(placed_still(index, hand))
    assert len(found) == 1


def placed_still(index: int, hand: Hand) -> set[State]:
    card = printed(DENSE)[0]
    picture = drawn(card, {index: (hand, PENS[2])}, np.random.default_rng(4))
    if index % 2:
        picture = np.ascontiguousarray(picture[::-1, ::-1])
    (reading,) = read_page(picture, {card.text: card.known}.get)
    return {reading.places[index].state}


def test_a_marginal_mark_is_asked_about_as_often_in_every_row():
    """Thin pencil ticks and dots, scanned: the shares of three cups differ by no more than chance
    does (three standard deviations)."""
    asked, all_of_them = Counter[int](), Counter[int]()
    card = printed(DENSE)[0]
    places = card.known.layout.places
    for seed in range(90):
        rng = np.random.default_rng(90_000 + seed)
        chosen = [int(rng.choice([i for i in RINGS if places[i].position == row])) for row in ROWS]
        hands = {index: (Hand.DOT, PENS[2]) for index in chosen}
        picture = damaged(drawn(card, hands, rng), rng, scan(rng))
        (reading,) = read_page(picture, {card.text: card.known}.get)
        for row, index in zip(ROWS, chosen, strict=True):
            all_of_them[row] += 1
            asked[row] += reading.places[index].state is State.UNSURE
    share = sum(asked.values()) / sum(all_of_them.values())
    assert 0.2 < share < 0.9  # marginal indeed
    for row in ROWS:
        spread = (share * (1 - share) / all_of_them[row]) ** 0.5
        assert abs(asked[row] / all_of_them[row] - share) < 3 * spread


def test_five_scans_of_a_card_never_turn_a_mark_into_an_empty_place():
    for seed in range(80_000, 80_012):
        case = MIXED[seed % len(MIXED)]
        rng = np.random.default_rng(seed)
        card = printed(case)[0]
        picture = drawn(card, filled(card.known, rng, Taster.CARELESS).hands, rng)
        seen: list[set[State]] = [set() for _ in card.known.layout.places]
        for _ in range(5):
            again = damaged(picture, rng, (scan, tidy)[seed % 2](rng))
            (reading,) = read_page(again, {card.text: card.known}.get)
            for states, place in zip(seen, reading.places, strict=True):
                states.add(place.state)
        assert not any({State.MARKED, State.EMPTY} <= states for states in seen)


def test_the_corpus_repeats_itself():
    one, other = (specimen(DENSE, poor, Taster.CARELESS, 5) for _ in range(2))
    assert np.array_equal(one.picture, other.picture)
    assert one.filled.meant == other.filled.meant
