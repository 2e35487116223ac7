"""From the states of a card's places to answers, and to questions where they are not clear."""

from collections.abc import Iterator

from panel.core.ballot import check_answers
from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.core.names import Channel
from panel.core.paper.card_parts import Place, PlaceKind
from panel.core.paper.marked import marked_answer, standing_marks
from panel.core.questions import (
    Answer,
    Choice,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)
from panel.scanning.read_marks import PlaceReading, State
from panel.scanning.reading import CardKnown, OpenQuestion, Reason
from panel.scanning.thresholds import THRESHOLDS

Judged = tuple[dict[str, Answer], tuple[OpenQuestion, ...]]


def answers_of(known: CardKnown, places: tuple[PlaceReading, ...]) -> Judged:
    """The clear answers by question id, and what is open. Words are never machine-read."""
    answers: dict[str, Answer] = {}
    opened: list[OpenQuestion] = []
    for question in known.questions:
        if isinstance(question, Words):
            continue
        mine = {index: one for index, one in enumerate(places) if one.place.question == question.id}
        found = list(_unclear(question, mine))
        if not found:
            answer, refusal = _checked(question, known.codes, mine)
            found = [refusal] if refusal is not None else []
            if answer:
                answers[question.id] = answer
        opened += found
    return answers, tuple(opened)


def too_many_marks(known: CardKnown, places: tuple[PlaceReading, ...]) -> bool:
    """Whether more rings are filled than any ballot needs: a shadow or stain is being read."""
    filled = [one.place for one in places if one.state is State.MARKED]
    most = sum(_most(question) for question in known.questions)
    return len(standing_marks(filled)) > most + THRESHOLDS.marks_beyond


def _most(question: Question) -> int:
    match question:
        case PickCups():
            return question.pick
        case Choice():
            return len(question.options) if question.several else 1
        case YesNoPerCup() | ScalePerCup() | OrderCups():
            return len(question.positions)
        case Words():
            return 0


def _unclear(question: Question, mine: dict[int, PlaceReading]) -> Iterator[OpenQuestion]:
    """Places in doubt, and squares filled beside rings that are not."""
    doubtful = tuple(index for index, one in mine.items() if one.state is State.UNSURE)
    if doubtful:
        yield OpenQuestion(
            question=question.id, reason=Reason.UNSURE, message=UNSURE, places=doubtful
        )
        return
    marked = {
        _of(one.place)
        for one in mine.values()
        if one.state is State.MARKED and one.place.kind is PlaceKind.MARK
    }
    lone = tuple(
        index
        for index, one in mine.items()
        if one.state is State.MARKED
        and one.place.kind is PlaceKind.TAKE_BACK
        and _of(one.place) not in marked
    )
    if lone:
        yield OpenQuestion(
            question=question.id, reason=Reason.LONE_SQUARE, message=LONE_SQUARE, places=lone
        )


UNSURE = say("It is not clear whether this place was filled. Look at the card and decide.")
LONE_SQUARE = say(
    "The small square is filled, but the ring beside it is not. Look at the card and decide."
)


def _of(place: Place) -> tuple[int, str]:
    return place.position, place.value


def _checked(
    question: Question, codes: tuple[str, ...], mine: dict[int, PlaceReading]
) -> tuple[Answer, OpenQuestion | None]:
    """The answer if the marks give one that stands, else what is wrong with them."""
    filled = {index: one.place for index, one in mine.items() if one.state is State.MARKED}
    answer = marked_answer(question, codes, filled.values())
    if not answer and not filled and not question.required:
        return (), None
    # Asked as the deciding question is: what is required and blank is put before a person too.
    try:
        given = check_answers(
            (question,), codes, {question.id: answer}, question.id, Channel.SCANNED
        )
    except PanelError as refusal:
        return (), _opened(question, refusal.code, refusal.message, tuple(filled))
    if question.id not in given:
        return (), _opened(question, "unanswered", BLANK, tuple(filled))
    return given[question.id], None


BLANK = say("Nothing is marked here.")
_REASONS = {
    "unanswered": Reason.BLANK,
    "cup-missing": Reason.INCOMPLETE,
    "order-incomplete": Reason.INCOMPLETE,
}


def _opened(
    question: Question, code: str, message: Message, places: tuple[int, ...]
) -> OpenQuestion:
    reason = _REASONS.get(code, Reason.OVER_MARKED)
    if reason is Reason.BLANK:
        message = BLANK
    return OpenQuestion(question=question.id, reason=reason, message=message, places=places)
