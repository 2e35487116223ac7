"""Reading whole corpora and counting: silent errors, questions, refused cards."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy.special import chdtri

from panel.core.questions import Words
from panel.scanning.read_marks import State
from panel.scanning.reader import read_page
from panel.scanning.reading import CardReading
from tests.scanning.corpus.ballots import Filled, drawn, filled
from tests.scanning.corpus.cards import (
    CASES,
    METHOD_CASES,
    Case,
    Picture,
    PrintedCard,
    printed,
)
from tests.scanning.corpus.damage import Damage, damaged
from tests.scanning.corpus.hands import MEANT, NOT_MEANT, Hand


@dataclass(frozen=True, eq=False)
class Specimen:
    """One picture of the corpus, and the truth about it."""

    seed: int
    card: PrintedCard
    filled: Filled
    picture: Picture


def specimen(case: Case, how: Damage, messy: bool, seed: int) -> Specimen:
    """A card of the case, filled in, photographed; the same for the same seed."""
    rng = np.random.default_rng(seed)
    cards = printed(case)
    card = cards[seed % len(cards)]
    ballot = filled(card.known, rng, messy)
    picture = damaged(drawn(card, ballot.hands, rng), rng, how)
    return Specimen(seed, card, ballot, picture)


def reading_of(one: Specimen) -> CardReading | None:
    """The reading of the specimen's card; None if its code was not read."""
    card = one.card
    found = read_page(one.picture, lambda text: card.known if text == card.text else None)
    return next((reading for reading in found if reading.text == card.text), None)


@dataclass
class Tally:
    """Counts over many cards. `silent` names every silent error: seed, what, how it was read."""

    cards: int = 0
    refused: int = 0
    asked: int = 0
    positions: int = 0
    unsure: int = 0
    questions: int = 0
    open: int = 0
    silent: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    by_hand: Counter[tuple[str, str]] = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)

    def add(self, one: Specimen, reading: CardReading | None, name: str = "") -> None:
        """Count one card; a refused one counts as a card put before a person."""
        self.cards += 1
        questions = [each for each in one.card.known.questions if not isinstance(each, Words)]
        self.questions += len(questions)
        whole = reading is None or any(each.question is None for each in reading.open)
        if reading is None or whole:
            self.refused += 1
            self.asked += 1
            self.open += len(questions)
            self.reasons["no code" if reading is None else str(reading.open[0].reason)] += 1
            return
        self.asked += bool(reading.open)
        self.open += len({each.question for each in reading.open})
        self.reasons.update(str(each.reason) for each in reading.open)
        self._places(one, reading, name)
        for question in questions:
            answer = reading.answers.get(question.id)
            asked = any(each.question == question.id for each in reading.open)
            if not asked and (answer or ()) != one.filled.meant[question.id]:
                self.wrong.append(f"{name} {one.seed} {question.id}: {answer}")

    def _places(self, one: Specimen, reading: CardReading, name: str) -> None:
        self.positions += len(reading.places)
        for index, place in enumerate(reading.places):
            hand = one.filled.hands.get(index, (None, None))[0]
            self.unsure += place.state is State.UNSURE
            label = str(hand) if hand else "none"
            self.by_hand[label, place.doubt or place.state] += 1
            missed = hand in MEANT and place.state is State.EMPTY
            invented = (hand is None or hand in NOT_MEANT) and place.state is State.MARKED
            lost = hand is Hand.CIRCLED and place.state is State.EMPTY
            if missed or invented or lost:
                self.silent.append(
                    f"{name} {one.seed} place {index} {label} read {place.state}: cover "
                    f"{place.cover:.2f} depth {place.depth:.2f} band {place.band:.2f} outline "
                    f"{place.outline:.1f}"
                )

    def join(self, other: "Tally") -> None:
        """Add another's counts."""
        self.cards += other.cards
        self.refused += other.refused
        self.asked += other.asked
        self.positions += other.positions
        self.unsure += other.unsure
        self.questions += other.questions
        self.open += other.open
        self.silent += other.silent
        self.wrong += other.wrong
        self.by_hand += other.by_hand
        self.reasons += other.reasons

    def bound(self) -> str:
        """What the silent errors show at 95 %: exact Poisson limits, 3/n where there was none."""
        limit = float(chdtri(2 * len(self.silent) + 2, 0.05)) / 2 / max(self.positions, 1)
        return (
            f"{len(self.silent)} in {self.positions} positions: at 95 % at most one in "
            f"{1 / limit:,.0f}"
        )

    def line(self) -> str:
        """One row of figures."""
        return (
            f"{self.cards} cards, {self.positions} positions read, "
            f"{len(self.silent)} silent errors, "
            f"{len(self.wrong)} wrong answers; to a person: "
            f"{100 * self.asked / self.cards:.2f}% of "
            f"cards ({100 * self.refused / self.cards:.2f}% whole), "
            f"{100 * self.open / max(self.questions, 1):.2f}% of questions, "
            f"{100 * self.unsure / max(self.positions, 1):.3f}% of positions"
        )


def joined(tallies: Iterable[Tally]) -> Tally:
    """The sum of several."""
    whole = Tally()
    for one in tallies:
        whole.join(one)
    return whole


def mixed_cases() -> tuple[Case, ...]:
    """The cases of large runs: small cards as most kits have them, and one in five another."""
    small = [case for case in METHOD_CASES if case.format in ("a6", "quarter-letter")]
    others = [case for case in CASES.values() if case not in small]
    return tuple(
        others[number // 5 % len(others)] if number % 5 == 4 else small[number % len(small)]
        for number in range(5 * len(others))
    )


def tallied(specimens: Iterable[Specimen], name: str = "") -> Tally:
    """All of them read and counted."""
    tally = Tally()
    for one in specimens:
        tally.add(one, reading_of(one), name)
    return tally
