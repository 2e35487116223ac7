"""What was read from one picture of one card, as values that can be kept, sent on and shown."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from panel.core.message import Message, Number
from panel.core.names import Channel, Role
from panel.core.questions import Answer

BoxInPicture = tuple[float, float, float, float]
"""Left, top, width, height, in pixels of the kept picture."""


@dataclass(frozen=True, kw_only=True)
class PlaceRead:
    """One place to mark: what it was found to be ("empty", "unsure", "marked"), the doubt if it
    is unsure ("" otherwise), and the measures: shares of darkness, strength of the outline."""

    question: str
    position: int
    value: str
    kind: str
    state: str
    doubt: str
    cover: float
    depth: float
    band: float
    outline: float
    box: BoxInPicture


@dataclass(frozen=True, kw_only=True)
class OpenPoint:
    """One thing that a person has to look at. `question`: "" if it is about the whole card."""

    question: str
    reason: str
    message: Message
    places: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CardRead:
    """One card on one page. `answers`: only what is clear; `open`: what is not.

    `picture`: a JPEG of the part handed in, straightened, without the card's code and without any
    of the photograph's metadata; None if there is none. `residual` in millimetres.
    """

    number: str
    answers: Mapping[str, Answer]
    open: tuple[OpenPoint, ...]
    places: tuple[PlaceRead, ...]
    corner_marks: int
    residual: float | None
    contrast: float | None
    outlines: float | None
    version: str
    picture: bytes | None


class ReadingStanding(StrEnum):
    """What became of a reading."""

    TAKEN = "taken"  # every mark was clear: it became a ballot by itself
    SAME = "same"  # it says what was in already, or nothing
    IN_QUESTION = "in-question"  # it became a ballot that differs from the one of another way
    WAITING = "waiting"  # for a person
    DECIDED = "decided"  # a person has made a ballot of it
    LEFT_OPEN = "left-open"  # a person could not tell either
    REFUSED = "refused"  # clear, but no ballot can be taken of this card


class Decision(StrEnum):
    """What a person made of a reading."""

    AS_READ = "as-read"
    OTHERWISE = "otherwise"
    LEFT_OPEN = "left-open"


@dataclass(frozen=True, kw_only=True)
class Came:
    """Where a reading came from: the channel, the SHA-256 (hex) of the file, the page in it."""

    channel: Channel
    file_hash: str
    page: int


@dataclass(frozen=True, kw_only=True)
class KeptReading:
    """A reading as it is kept. `number` counts the readings of a comparison from 1, `revision` is
    that of the ballot it became, `picture_hash` the SHA-256 (hex) of its picture, "" for none."""

    number: int
    tray: int
    came: Came
    read_at: datetime
    read: CardRead
    picture_hash: str
    standing: ReadingStanding
    reason: Message | None = None
    revision: int | None = None
    decision: Decision | None = None
    decided_role: Role | None = None
    decided_by: str = ""
    decided_at: datetime | None = None


def reading_words(read: CardRead) -> dict[str, Any]:
    """A reading without its picture, as JSON holds it."""
    return {
        "number": read.number,
        "answers": {name: list(answer) for name, answer in read.answers.items()},
        "open": [
            {
                "question": one.question,
                "reason": one.reason,
                "message": message_words(one.message),
                "places": list(one.places),
            }
            for one in read.open
        ],
        "places": [{**vars(place), "box": list(place.box)} for place in read.places],
        "corner_marks": read.corner_marks,
        "residual": read.residual,
        "contrast": read.contrast,
        "outlines": read.outlines,
        "version": read.version,
    }


def reading_from_words(words: Mapping[str, Any], picture: bytes | None) -> CardRead:
    """The reading again; KeyError, TypeError or ValueError for words that are none."""
    return CardRead(
        number=words["number"],
        answers={name: tuple(answer) for name, answer in words["answers"].items()},
        open=tuple(
            OpenPoint(
                question=one["question"],
                reason=one["reason"],
                message=message_from_words(one["message"]),
                places=tuple(one["places"]),
            )
            for one in words["open"]
        ),
        places=tuple(PlaceRead(**{**one, "box": tuple(one["box"])}) for one in words["places"]),
        corner_marks=words["corner_marks"],
        residual=words["residual"],
        contrast=words["contrast"],
        outlines=words["outlines"],
        version=words["version"],
        picture=picture,
    )


def message_words(message: Message) -> dict[str, Any]:
    """A message as JSON holds it, its parameters still values; TypeError for other parameters
    than texts, whole numbers, numbers and messages."""
    return {
        "id": message.id,
        "parameters": {name: _parameter_words(value) for name, value in message.parameters},
        "plural": message.plural,
        "count": message.count,
    }


def message_from_words(words: Mapping[str, Any]) -> Message:
    """The message again."""
    parameters = tuple(
        sorted((name, _parameter(value)) for name, value in words["parameters"].items())
    )
    return Message(words["id"], parameters, words["plural"], words["count"])


def _parameter_words(value: object) -> Any:
    match value:
        case str() | int():
            return value
        case Number(number, digits):
            return {"number": number, "digits": digits}
        case Message():
            return {"message": message_words(value)}
    raise TypeError(f"not kept in a message: {value!r}")


def _parameter(value: Any) -> str | int | Number | Message:
    match value:
        case {"number": number, "digits": digits}:
            return Number(number, digits)
        case {"message": message}:
            return message_from_words(message)
        case str() | int():
            return value
    raise TypeError(f"not kept in a message: {value!r}")
