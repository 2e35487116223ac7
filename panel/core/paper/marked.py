"""From marked places back to an answer in the words of `core.questions`.

Only what is clear becomes an answer here: whoever reads a card decides first which places are
marked and which are taken back, and puts everything doubtful before a person.
"""

from collections.abc import Iterable

from panel.core.paper.card_parts import Place, PlaceKind
from panel.core.questions import (
    NO_CHOICE,
    Answer,
    OrderCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)


def standing_marks(filled: Iterable[Place]) -> tuple[Place, ...]:
    """The filled rings without those whose small square is filled too."""
    places = tuple(filled)
    back = {_of(place) for place in places if place.kind is PlaceKind.TAKE_BACK}
    return tuple(
        place for place in places if place.kind is PlaceKind.MARK and _of(place) not in back
    )


def marked_answer(question: Question, codes: tuple[str, ...], filled: Iterable[Place]) -> Answer:
    """The answer that the filled places of a question give, for a tray with these codes.

    It is not checked: too many, too few or contradicting marks give an answer that
    `core.ballot.check_answers` refuses.
    """
    marks = [place for place in standing_marks(filled) if place.question == question.id]
    match question:
        case YesNoPerCup() | ScalePerCup():
            return tuple(f"{codes[place.position - 1]}:{place.value}" for place in marks)
        case OrderCups():
            return _ranked(marks, codes)
        case Words():
            return ()
        case _:
            return tuple(_word(place, codes) for place in marks)


def _ranked(marks: list[Place], codes: tuple[str, ...]) -> Answer:
    """The codes by rank; one too few where two cups share a rank, so that no order is made up."""
    ordered = sorted(marks, key=lambda place: int(place.value))
    words = tuple(codes[place.position - 1] for place in ordered)
    shared = len({place.value for place in marks}) < len(marks)
    return words[:-1] if shared else words


def _word(place: Place, codes: tuple[str, ...]) -> str:
    if place.position and place.value != NO_CHOICE:
        return codes[place.position - 1]
    return place.value


def _of(place: Place) -> tuple[str, int, str]:
    return place.question, place.position, place.value
