"""What tasters do to their cards: answers, and hands that are told, messy or change their mind."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from numpy.random import Generator

from panel.core.paper.card_parts import Place, PlaceKind
from panel.core.paper.marked import marked_answer
from panel.core.questions import (
    NO_CHOICE,
    Answer,
    Choice,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)
from panel.scanning.reading import CardKnown
from tests.scanning.corpus.cards import Picture, PrintedCard
from tests.scanning.corpus.hands import PENS, Hand, Pen, draw

TOLD = {Hand.FILL: 1.0}
OWN_WAY = {
    Hand.FILL: 0.40,
    Hand.LIGHT: 0.10,
    Hand.TICK: 0.14,
    Hand.CROSS: 0.12,
    Hand.OVERFILL: 0.06,
    Hand.OFF: 0.06,
    Hand.PARTIAL: 0.04,
    Hand.LINE: 0.04,
    Hand.BLOB: 0.04,
}
TRACES = {
    Hand.ERASED: 0.09, Hand.SPECK: 0.04, Hand.DOT: 0.04, Hand.STRAY: 0.04, Hand.CIRCLED: 0.01,
    Hand.CROSSED_OUT: 0.02,
}  # fmt: skip
"""Chance of each for a question."""


class Taster(StrEnum):
    """How somebody fills in a card."""

    TOLD = "as told"  # every ring filled
    MESSY = "messy"  # every answer clear, marked in whatever way; second thoughts as printed
    CARELESS = "careless"  # besides: blank, twice, rubbed out, rested upon, struck through


class Thought(StrEnum):
    """What came of a question."""

    CLEAR = "answered"
    MOVED = "taken back and moved"  # by its small square
    BLANK = "left blank"
    TWICE = "marked once too often"


@dataclass
class Filled:
    """A card after the taster: what was drawn on each place, and what was meant.

    `meant`: the answer by question id, () if it is for a person to say (nothing, too much).
    `thoughts`: what came of each question; `traced`: those with something that is no answer.
    """

    hands: dict[int, tuple[Hand, Pen]] = field(default_factory=dict)
    meant: dict[str, Answer] = field(default_factory=dict)
    thoughts: dict[str, Thought] = field(default_factory=dict)
    traced: set[str] = field(default_factory=set)

    @property
    def clear(self) -> bool:
        """Whether a person is not needed: every question answered, nothing else on the card."""
        return not self.traced and set(self.thoughts.values()) <= {Thought.CLEAR, Thought.MOVED}


def filled(known: CardKnown, rng: Generator, taster: Taster) -> Filled:
    """A taster's ballot, with one pen."""
    card = Filled()
    pen = PENS[int(rng.integers(len(PENS)))]
    for question in known.questions:
        if not isinstance(question, Words):
            _answer(card, known, question, rng, pen, taster)
    return card


def _answer(
    card: Filled, known: CardKnown, question: Question, rng: Generator, pen: Pen, taster: Taster
) -> None:
    rings = {
        index: place
        for index, place in enumerate(known.layout.places)
        if place.question == question.id and place.kind is PlaceKind.MARK
    }
    chosen = set(_chosen(question, rings, rng))
    spare = sorted(set(rings) - chosen)
    thought = _thought(rng, taster, bool(spare), _square_of(known, rings[min(rings)]) is not None)
    taken_back: set[int] = set()
    match thought:
        case Thought.BLANK:
            chosen = set()
        case Thought.TWICE:
            chosen.add(int(rng.choice(spare)))
        case Thought.MOVED:
            taken_back.add(int(rng.choice(spare)))
    for index in sorted(chosen | taken_back):
        card.hands[index] = (_hand(rng, TOLD if taster is Taster.TOLD else OWN_WAY), pen)
    for index in sorted(taken_back):
        square = _square_of(known, rings[index])
        assert square is not None
        card.hands[square] = (Hand.FILL, pen)
    answer = marked_answer(question, known.codes, [rings[index] for index in sorted(chosen)])
    card.meant[question.id] = answer
    card.thoughts[question.id] = thought
    if taster is Taster.CARELESS:
        _traces(card, known, question, rng)


def _thought(rng: Generator, taster: Taster, spare: bool, square: bool) -> Thought:
    chance = rng.random()
    if taster is not Taster.TOLD and chance < 0.08 and spare and square:
        return Thought.MOVED
    if taster is Taster.CARELESS and 0.08 <= chance < 0.11:
        return Thought.BLANK
    if taster is Taster.CARELESS and 0.11 <= chance < 0.14 and spare:
        return Thought.TWICE
    return Thought.CLEAR


def _traces(card: Filled, known: CardKnown, question: Question, rng: Generator) -> None:
    """What is not meant: rubbed out, rested upon, passed through."""
    free = [
        index
        for index, place in enumerate(known.layout.places)
        if place.question == question.id and index not in card.hands
    ]
    for hand, chance in TRACES.items():
        free_for = [one for one in free if able(hand, known.layout.places[one].kind)]
        if free_for and rng.random() < chance:
            index = int(rng.choice(free_for))
            free.remove(index)
            card.hands[index] = (hand, PENS[int(rng.integers(len(PENS)))])
            card.traced.add(question.id)


def able(hand: Hand, kind: PlaceKind) -> bool:
    """Which hands a place meets: small squares are filled, or bear traces. They are not circled or
    crossed out, their ring stands too near."""
    if kind is PlaceKind.MARK:
        return True
    return hand in (Hand.FILL, Hand.ERASED, Hand.SPECK, Hand.DOT, Hand.STRAY)


def _hand(rng: Generator, shares: dict[Hand, float]) -> Hand:
    hands = list(shares)
    return hands[int(rng.choice(len(hands), p=list(shares.values())))]


def _square_of(known: CardKnown, ring: Place) -> int | None:
    for index, place in enumerate(known.layout.places):
        if place.kind is PlaceKind.TAKE_BACK and (
            (place.question, place.position, place.value)
            == (ring.question, ring.position, ring.value)
        ):
            return index
    return None


def _chosen(question: Question, rings: dict[int, Place], rng: Generator) -> Iterator[int]:
    """The rings of one proper answer."""
    match question:
        case PickCups():
            cups = [index for index, ring in rings.items() if ring.value != NO_CHOICE]
            none = [index for index in rings if index not in cups]
            if none and rng.random() < 0.2:
                yield none[0]
            else:
                yield from (int(one) for one in rng.choice(cups, question.pick, replace=False))
        case Choice():
            open_to = [index for index, ring in rings.items() if ring.value != question.alone]
            count = int(rng.integers(1, 3)) if question.several else 1
            if question.several and rng.random() < 0.6:
                yield next(index for index in rings if index not in open_to)
            else:
                yield from (int(one) for one in rng.choice(open_to, count, replace=False))
        case YesNoPerCup() | ScalePerCup():
            for position in question.positions:
                yield int(rng.choice([i for i, ring in rings.items() if ring.position == position]))
        case OrderCups():
            ranks = rng.permutation(len(question.positions)) + 1
            for position, rank in zip(question.positions, ranks, strict=True):
                yield next(
                    i
                    for i, ring in rings.items()
                    if ring.position == position and ring.value == str(rank)
                )


def drawn(card: PrintedCard, hands: dict[int, tuple[Hand, Pen]], rng: Generator) -> Picture:
    """The handed-in part of a card with these marks on it, softened."""
    picture = card.soft.copy()
    for index, (hand, pen) in hands.items():
        draw(picture, rng, card.known.layout.places[index], hand, pen)
    return picture
