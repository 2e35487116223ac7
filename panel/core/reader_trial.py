"""How well a reader of cards did in a trial: what people see on real cards against what was read.

A place is right, left to a person, or a silent error: read clearly and wrongly, in a question that
is not put before anybody. Voluntary Voting System Guidelines 2.0, 1.1.6 and 1.2, count so (modelled
on). The bound where no error was seen is the rule of three: at 95 % at most 3/n (Hanley &
Lippman-Hand 1983, JAMA 249:1743–1745; from memory).
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from panel.core.card_reading import CardRead, PlaceRead
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.paper.card_parts import Place, PlaceKind
from panel.core.paper.marked import marked_answer
from panel.core.questions import (
    NO_CHOICE,
    Answer,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)
from panel.core.statistics import MAX_TASTERS, clopper_pearson

UNTOLD = "?"
"""What is noted of a question of which people themselves cannot tell what is marked."""
TAKEN_BACK = "x"
"""Before a word: its ring is filled, and so is the small square beside it."""
RULE_OF_THREE = 3
NINE_IN_TEN = Decimal("0.9")
"""Of an interval that leaves 5 % beyond each end."""


class Outcome(StrEnum):
    """What became of a place or of an answer."""

    RIGHT = "right"
    PERSON = "to a person"
    SILENT = "silent error"


class Look(StrEnum):
    """What people see at a place."""

    EMPTY = "empty ring"
    FILLED = "filled ring"
    BACK = "ring taken back"
    SQUARE_EMPTY = "empty small square"
    SQUARE_FILLED = "filled small square"


@dataclass(frozen=True, kw_only=True)
class CardSeen:
    """What people see on a card: of each question the places that are filled, as far as they can
    tell; `marks` is their own word for how it was marked, "" for none."""

    questions: tuple[Question, ...]
    codes: tuple[str, ...]
    places: tuple[Place, ...]
    filled: Mapping[str, frozenset[Place]]
    marks: str = ""


@dataclass(frozen=True, kw_only=True)
class PlaceScore:
    """One place of one card in one picture. `value`: the word it stands for."""

    question: str
    word: str
    look: Look
    marks: str
    outcome: Outcome


@dataclass(frozen=True, kw_only=True)
class CardScore:
    """One card in one picture: its places, and of each question what became of its answer."""

    places: tuple[PlaceScore, ...]
    answers: Mapping[str, Outcome]


@dataclass(frozen=True)
class Sum:
    """Places of one kind: how many were right, left to a person, silent errors."""

    right: int = 0
    person: int = 0
    silent: int = 0

    @property
    def read(self) -> int:
        """Places about which nobody was asked."""
        return self.right + self.silent

    @property
    def at_most(self) -> float | None:
        """The share of silent errors that is not exceeded, at 95 %; None if nothing was read."""
        if not self.read:
            return None
        if not self.silent:
            return min(1.0, RULE_OF_THREE / self.read)
        if self.read > MAX_TASTERS:
            return None
        return clopper_pearson(self.silent, self.read, NINE_IN_TEN).high


def seen_on_card(
    questions: tuple[Question, ...],
    codes: tuple[str, ...],
    places: tuple[Place, ...],
    noted: Mapping[str, Answer],
    marks: str = "",
) -> CardSeen:
    """What people noted of a card. noted: question id to words; "482" is a filled ring, "x482" one
    that is taken back, "?" alone: nobody can tell. PanelError (its field is the question) for a
    word that is no place of this card."""
    filled: dict[str, frozenset[Place]] = {}
    for question in questions:
        words = noted.get(question.id, ())
        if isinstance(question, Words) or words == (UNTOLD,):
            continue
        mine = tuple(place for place in places if place.question == question.id)
        filled[question.id] = frozenset(_filled(question, codes, mine, _ranked(question, words)))
    return CardSeen(questions=questions, codes=codes, places=places, filled=filled, marks=marks)


def _ranked(question: Question, words: Answer) -> Answer:
    """An order as codes alone, first to last, with the rank behind each."""
    if not isinstance(question, OrderCups) or any(":" in word for word in words):
        return words
    return tuple(f"{word}:{rank}" for rank, word in enumerate(words, start=1))


def _filled(
    question: Question, codes: tuple[str, ...], places: tuple[Place, ...], words: Answer
) -> Iterator[Place]:
    by_word = {(word_of(question, codes, place), place.kind): place for place in places}
    for word in words:
        plain = word.removeprefix(TAKEN_BACK)
        back = plain != word and (word, PlaceKind.MARK) not in by_word
        kinds = (PlaceKind.MARK, PlaceKind.TAKE_BACK) if back else (PlaceKind.MARK,)
        for kind in kinds:
            place = by_word.get((plain if back else word, kind))
            if place is None:
                raise _no_place(question, word, [one for one, mark in by_word if mark == kind])
            yield place


def _no_place(question: Question, word: str, known: list[str]) -> PanelError:
    return PanelError(
        "no-such-place",
        say(
            "“%(word)s” is no place to mark on this card. There are: %(known)s.",
            word=word,
            known=" ".join(known) or "–",
        ),
        field=question.id,
    )


def word_of(question: Question, codes: tuple[str, ...], place: Place | PlaceRead) -> str:
    """What a place is called in a sheet: "482", "482:7", "nothing"."""
    code = codes[place.position - 1] if place.position else ""
    match question:
        case YesNoPerCup() | ScalePerCup() | OrderCups():
            return f"{code}:{place.value}"
        case PickCups() if place.value != NO_CHOICE:
            return code
        case _:
            return place.value


def score_card(seen: CardSeen, read: CardRead) -> CardScore:
    """What was read of a card against what people see on it. Questions of which they cannot tell
    are left out."""
    whole = not read.number or any(not one.question for one in read.open)
    asked = {one.question for one in read.open}
    states = {_key(one): one.state for one in read.places}
    found: list[PlaceScore] = []
    answers: dict[str, Outcome] = {}
    for question in seen.questions:
        if question.id not in seen.filled:
            continue
        filled = seen.filled[question.id]
        to_person = whole or question.id in asked
        for place in (one for one in seen.places if one.question == question.id):
            state = "unsure" if to_person else states.get(_key(place), "unsure")
            found.append(
                PlaceScore(
                    question=question.id,
                    word=word_of(question, seen.codes, place),
                    look=_look(place, filled),
                    marks=seen.marks,
                    outcome=_outcome(state, place in filled),
                )
            )
        means = marked_answer(question, seen.codes, filled)
        same = _same(question, read.answers.get(question.id, ()), means)
        right = Outcome.RIGHT if same else Outcome.SILENT
        answers[question.id] = Outcome.PERSON if to_person else right
    return CardScore(places=tuple(found), answers=answers)


def _same(question: Question, one: Answer, other: Answer) -> bool:
    return one == other if isinstance(question, OrderCups) else set(one) == set(other)


def _outcome(state: str, filled: bool) -> Outcome:
    if state == "unsure":
        return Outcome.PERSON
    return Outcome.RIGHT if (state == "marked") is filled else Outcome.SILENT


def _look(place: Place, filled: frozenset[Place]) -> Look:
    if place.kind is PlaceKind.TAKE_BACK:
        return Look.SQUARE_FILLED if place in filled else Look.SQUARE_EMPTY
    if place not in filled:
        return Look.EMPTY
    back = any(one.kind is PlaceKind.TAKE_BACK and _beside(one, place) for one in filled)
    return Look.BACK if back else Look.FILLED


def _beside(square: Place, ring: Place) -> bool:
    return (square.position, square.value) == (ring.position, ring.value)


def _key(one: Place | PlaceRead) -> tuple[str, int, str, str]:
    return one.question, one.position, one.value, str(one.kind)


def summed(places: Iterable[PlaceScore]) -> Sum:
    """How many of them became what."""
    outcomes = [one.outcome for one in places]
    return Sum(*(outcomes.count(one) for one in Outcome))
