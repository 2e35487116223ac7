"""The cards that were read from pictures as a list: each once, its last picture, newest first."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import KeptReading, ReadingStanding
from panel.core.message import Message, say
from panel.core.questions import Question
from panel.services.read_cards import NOTHING_MARKED, is_empty
from panel.services.review_cards import Pile

MOST_REASONS = 2
"""Reasons that a line of the list has room for; the card's own page has all."""


class Kind(StrEnum):
    """How a card in the list is marked; the words are classes of the style sheet."""

    IN = "in"
    THERE = "there"
    LOOK = "look"
    ASIDE = "aside"


STANDS: dict[ReadingStanding, tuple[Kind, Message]] = {
    ReadingStanding.TAKEN: (Kind.IN, say("ballot is in")),
    ReadingStanding.DECIDED: (Kind.IN, say("ballot is in, decided by hand")),
    ReadingStanding.SAME: (Kind.THERE, say("was there already")),
    ReadingStanding.IN_QUESTION: (
        Kind.ASIDE,
        say("in, and differs from another copy: the organiser settles it"),
    ),
    ReadingStanding.WAITING: (Kind.LOOK, say("to be looked at")),
    ReadingStanding.LEFT_OPEN: (Kind.ASIDE, say("left open")),
    ReadingStanding.REFUSED: (Kind.ASIDE, say("refused")),
}
MADE_UP_FOR = (Kind.THERE, say("made up for since"))
HAS_BALLOT = (
    ReadingStanding.TAKEN,
    ReadingStanding.SAME,
    ReadingStanding.IN_QUESTION,
    ReadingStanding.DECIDED,
)


@dataclass(frozen=True, kw_only=True)
class CardIn:
    """One line: the card, how it stands and why, the number of its last reading, and when."""

    card: str
    kind: Kind
    stands: Message
    reasons: tuple[Message, ...]
    reading: int
    read_at: datetime


@dataclass(frozen=True)
class CardsIn:
    """Every card that was read, newest first. `readings`: how many pictures of cards there are; of
    two lists of one sitting the one with more is the later."""

    cards: tuple[CardIn, ...]
    readings: int
    waiting: int
    with_ballot: int

    @property
    def refused(self) -> int:
        """Cards that wait for nobody and have no ballot."""
        return sum(one.kind is Kind.ASIDE for one in self.cards)


def cards_in(pile: Pile, questions: tuple[Question, ...]) -> CardsIn:
    """The list of a sitting's pile. questions: of its ballots, for the reasons."""
    last = {one.tray: one for one in pile.readings}
    newest = sorted(last.values(), key=lambda one: one.number, reverse=True)
    return CardsIn(
        cards=tuple(_line(one, pile, questions) for one in newest),
        readings=len(pile.readings),
        waiting=len(pile.waiting),
        with_ballot=len({one.tray for one in pile.readings if one.standing in HAS_BALLOT}),
    )


def _line(one: KeptReading, pile: Pile, questions: tuple[Question, ...]) -> CardIn:
    made_up = one.standing is ReadingStanding.WAITING and one.number not in pile.waiting
    kind, stands = MADE_UP_FOR if made_up else STANDS[one.standing]
    reasons: tuple[Message, ...] = ()
    if kind is Kind.LOOK:
        reasons = tuple(doubts_of(one, questions))[:MOST_REASONS]
    elif one.reason is not None:
        reasons = (one.reason,)
    return CardIn(
        card=card_number(one.tray),
        kind=kind,
        stands=stands,
        reasons=reasons,
        reading=one.number,
        read_at=one.read_at,
    )


def doubts_of(reading: KeptReading, questions: tuple[Question, ...]) -> Iterator[Message]:
    """Why a reading was put before a person, each reason once, with its question."""
    if is_empty(reading.read):
        yield NOTHING_MARKED
        return
    asked = {one.id: one.short for one in questions}
    said = (
        say("%(question)s: %(doubt)s", question=asked[one.question], doubt=one.message)
        if one.question in asked
        else one.message
        for one in reading.read.open
    )
    yield from dict.fromkeys(said)
