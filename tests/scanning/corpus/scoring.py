"""Reading whole corpora and counting: silent errors, questions, refused cards."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, fields

import numpy as np
from scipy.special import chdtri
from scipy.stats import chi2_contingency

from panel.core.paper.card_parts import PlaceKind
from panel.core.questions import Words
from panel.scanning.read_marks import State
from panel.scanning.reader import read_page
from panel.scanning.reading import CardReading
from tests.scanning.corpus.axes import Level
from tests.scanning.corpus.ballots import Filled, Taster, drawn, filled
from tests.scanning.corpus.cards import CASES, METHOD_CASES, Case, Picture, PrintedCard, printed
from tests.scanning.corpus.coverage import drawn_values, every_value
from tests.scanning.corpus.damage import Damage, damaged
from tests.scanning.corpus.hands import MEANT, NEITHER, Hand

SMALL = ("a6", "quarter-letter")
DENSE = tuple(f"short scale alone on {format}" for format in SMALL)
MARGINAL = (Hand.LIGHT, Hand.TICK, Hand.CROSS, Hand.DOT, Hand.ERASED, Hand.SPECK, Hand.STRAY)
"""Hands that a person may be asked about, and cards on which they are counted place by place."""


@dataclass(frozen=True, eq=False)
class Specimen:
    """One picture of the corpus, and the truth about it."""

    seed: int
    case: Case
    card: PrintedCard
    how: Damage
    filled: Filled
    picture: Picture


def specimen(case: Case, level: Level, taster: Taster, seed: int) -> Specimen:
    """A card of the case, filled in, photographed; the same for the same seed."""
    rng = np.random.default_rng(seed)
    how = level(rng)
    cards = printed(case)
    card = cards[seed % len(cards)]
    ballot = filled(card.known, rng, taster)
    picture = damaged(drawn(card, ballot.hands, rng), rng, how)
    return Specimen(seed, case, card, how, ballot, picture)


def reading_of(one: Specimen) -> CardReading | None:
    """The reading of the specimen's card; None if its code was not read."""
    card = one.card
    found = read_page(one.picture, lambda text: card.known if text == card.text else None)
    return next((reading for reading in found if reading.text == card.text), None)


Counts = Counter[tuple[str, str]]


@dataclass
class Tally:
    """Counts over many cards. `silent` names every silent error: seed, what, how it was read.

    `needless`: cards put before a person although everything on them was clear (`Filled.clear`),
    of `clear` such cards.
    """

    cards: int = 0
    refused: int = 0
    asked: int = 0
    clear: int = 0
    needless: int = 0
    positions: int = 0
    unsure: int = 0
    questions: int = 0
    open: int = 0
    silent: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    by_hand: Counts = field(default_factory=Counter)
    drawn: Counts = field(default_factory=Counter)
    marginal: Counts = field(default_factory=Counter)
    reasons: Counter[str] = field(default_factory=Counter)

    def add(self, one: Specimen, reading: CardReading | None, name: str = "") -> None:
        """Count one card; a refused one counts as a card put before a person."""
        self.cards += 1
        self.drawn.update(drawn_values(one.card.known, one.filled, one.how, one.case))
        questions = [each for each in one.card.known.questions if not isinstance(each, Words)]
        self.questions += len(questions)
        whole = reading is None or any(each.question is None for each in reading.open)
        asked = reading is None or bool(reading.open)
        self.asked += asked
        self.clear += one.filled.clear
        self.needless += asked and one.filled.clear
        if reading is None or whole:
            self.refused += 1
            self.open += len(questions)
            self.reasons["no code" if reading is None else str(reading.open[0].reason)] += 1
            return
        self.open += len({each.question for each in reading.open})
        self.reasons.update(str(each.reason) for each in reading.open)
        self._places(one, reading, name)
        for question in questions:
            answer = reading.answers.get(question.id)
            open_one = any(each.question == question.id for each in reading.open)
            if not open_one and (answer or ()) != one.filled.meant[question.id]:
                self.wrong.append(f"{name} {one.seed} {question.id}: {answer}")

    def _places(self, one: Specimen, reading: CardReading, name: str) -> None:
        self.positions += len(reading.places)
        for index, place in enumerate(reading.places):
            hand = one.filled.hands.get(index, (None, None))[0]
            self.unsure += place.state is State.UNSURE
            label = str(hand) if hand else "none"
            self.by_hand[f"{place.place.kind} {label}", place.doubt or place.state] += 1
            if one.case.name in DENSE and hand in MARGINAL:
                asked = "asked" if place.state is State.UNSURE else "not asked"
                self.marginal[f"{hand} {place.place.kind} {index}", asked] += 1
            missed = (hand in MEANT or hand in NEITHER) and place.state is State.EMPTY
            invented = hand not in MEANT and place.state is State.MARKED
            if missed or invented:
                self.silent.append(
                    f"{name} {one.seed} place {index} {label} read {place.state}: cover "
                    f"{place.cover:.2f} depth {place.depth:.2f} band {place.band:.2f} outline "
                    f"{place.outline:.1f}"
                )

    def join(self, other: "Tally") -> None:
        """Add another's counts."""
        for one in fields(self):
            setattr(self, one.name, getattr(self, one.name) + getattr(other, one.name))

    def never_drawn(self) -> tuple[str, ...]:
        """Values of the axes that no picture had."""
        return tuple(
            f"{axis}: {value}" for axis, value in every_value() if not self.drawn[axis, value]
        )

    def alike(self) -> Iterator[str]:
        """Whether marginal marks of each hand were asked about alike in every place of the cards
        with many: chi-square of the places' shares."""
        for hand in MARGINAL:
            table = [
                [self.marginal[place, "asked"], self.marginal[place, "not asked"]]
                for place in sorted({place for place, _ in self.marginal})
                if place.startswith(f"{hand} {PlaceKind.MARK} ")
            ]
            found = np.array([row for row in table if sum(row)])
            if len(found) > 1 and found.sum(axis=0).all():
                chance = chi2_contingency(found).pvalue
                asked, all_of_them = int(found[:, 0].sum()), int(found.sum())
                yield (
                    f"{hand}: {asked} of {all_of_them} asked about in {len(found)} places, "
                    f"p = {chance:.3f}"
                )

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
            f"{share(self.asked, self.cards)} of cards ({share(self.refused, self.cards)} whole), "
            f"{share(self.needless, self.clear)} of cards without anything unclear, "
            f"{share(self.open, self.questions)} of questions, "
            f"{share(self.unsure, self.positions)} of positions"
        )


def share(part: int, whole: int) -> str:
    """In hundredths."""
    return f"{100 * part / max(whole, 1):.2f} %"


def joined(tallies: Iterable[Tally]) -> Tally:
    """The sum of several."""
    whole = Tally()
    for one in tallies:
        whole.join(one)
    return whole


def mixed_cases() -> tuple[Case, ...]:
    """The cases of large runs. Of five cards two are small as most kits have them, one is small
    and has many places, two are any others."""
    small = [case for case in METHOD_CASES if case.format in SMALL]
    dense = [CASES[name] for name in DENSE]
    others = [case for case in CASES.values() if case not in (*small, *dense)]
    found = []
    for number in range(len(others)):
        found += [small[2 * number % len(small)], small[(2 * number + 1) % len(small)]]
        found += [dense[number % 2], others[2 * number % len(others)]]
        found += [others[(2 * number + 1) % len(others)]]
    return tuple(found)


def tallied(specimens: Iterable[Specimen], name: str = "") -> Tally:
    """All of them read and counted."""
    tally = Tally()
    for one in specimens:
        tally.add(one, reading_of(one), name)
    return tally
