"""What tasters do to their cards: answers, and hands that are told, messy or change their mind."""

from collections.abc import Iterator
from dataclasses import dataclass, field

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
from tests.scanning.corpus.hands import MEANT, PENS, Hand, Pen, draw

TOLD = {Hand.FILL: 1.0}
MESSY = {
    Hand.FILL: 0.46,
    Hand.LIGHT: 0.10,
    Hand.TICK: 0.16,
    Hand.CROSS: 0.14,
    Hand.OVERFILL: 0.06,
    Hand.LINE: 0.04,
    Hand.BLOB: 0.04,
}
TRACES = {Hand.ERASED: 0.10, Hand.SPECK: 0.04, Hand.DOT: 0.04, Hand.STRAY: 0.04}
"""Chance of each for a question."""


@dataclass
class Filled:
    """A card after the taster: what was drawn on each place, and what was meant.

    `meant`: the answer by question id, () if it is for a person to say (nothing, too much).
    """

    hands: dict[int, tuple[Hand, Pen]] = field(default_factory=dict)
    meant: dict[str, Answer] = field(default_factory=dict)


def filled(known: CardKnown, rng: Generator, messy: bool) -> Filled:
    """A taster's ballot: one pen; neat as told, or messy with traces and second thoughts."""
    card = Filled()
    pen = PENS[int(rng.integers(len(PENS)))]
    for question in known.questions:
        if not isinstance(question, Words):
            _answer(card, known, question, rng, pen, messy)
    return card


def _answer(
    card: Filled, known: CardKnown, question: Question, rng: Generator, pen: Pen, messy: bool
) -> None:
    rings = {
        index: place
        for index, place in enumerate(known.layout.places)
        if place.question == question.id and place.kind is PlaceKind.MARK
    }
    chosen = set(_chosen(question, rings, rng))
    taken_back: set[int] = set()
    if messy:
        chance = rng.random()
        spare = sorted(set(rings) - chosen)
        if chance < 0.03:
            chosen = set()
        elif chance < 0.06 and spare:
            chosen.add(int(rng.choice(spare)))
        elif chance < 0.14 and spare and _square_of(known, rings[spare[0]]) is not None:
            taken_back.add(int(rng.choice(spare)))
    for index in sorted(chosen | taken_back):
        card.hands[index] = (_hand(rng, MESSY if messy else TOLD), pen)
    for index in sorted(taken_back):
        square = _square_of(known, rings[index])
        assert square is not None
        card.hands[square] = (Hand.FILL, pen)
    answer = marked_answer(question, known.codes, [rings[index] for index in sorted(chosen)])
    card.meant[question.id] = answer
    if messy:
        _traces(card, known, question, rng)


def _traces(card: Filled, known: CardKnown, question: Question, rng: Generator) -> None:
    """What is not meant: rubbed out, rested upon, passed through."""
    free = [
        index
        for index, place in enumerate(known.layout.places)
        if place.question == question.id and index not in card.hands
    ]
    for hand, chance in TRACES.items():
        if free and rng.random() < chance:
            index = free.pop(int(rng.integers(len(free))))
            card.hands[index] = (hand, PENS[int(rng.integers(len(PENS)))])


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
    """The handed-in part of a card with these marks on it."""
    picture = card.picture.copy()
    for index, (hand, pen) in hands.items():
        draw(picture, rng, card.known.layout.places[index], hand, pen)
    return picture


def is_meant(hand: Hand) -> bool:
    """Whether a mark must not be read as empty."""
    return hand in MEANT
