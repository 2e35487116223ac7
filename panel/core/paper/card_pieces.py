"""The pieces that the blocks of a card are made of: rings, squares, codes, names, labels."""

from dataclasses import dataclass

from panel.core.drawing import POINT, Anchor, Face, Ink
from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.core.paper.card_format import CardFormat, CardType, Sizes
from panel.core.paper.card_parts import CLEAR, RING_RADIUS, SQUARE, CodeBox, Place, PlaceKind
from panel.core.paper.geometry import Box, Point
from panel.core.paper.slot import CAPITALS, DEPTH, Fall, Slot
from panel.core.questions import Question

NEAREST = 10.5
"""Rings stand at least this far apart: the pitch at which reading was measured."""

CODE_WIDTH = 1.72 * POINT
"""Room for three bold digits, in millimetres for each point of type."""

TO_TEXT = CLEAR * RING_RADIUS + 0.1
"""From a ring's centre to the nearest text."""

TO_SQUARE = 7.5
"""From a ring's centre to the middle of its small square, when it stands to the right."""


@dataclass(frozen=True)
class Setting:
    """What a block is set into: the card, the width it has, the tray it is for."""

    format: CardFormat
    width: float
    cups: int
    references: tuple[int, ...]

    @property
    def type(self) -> CardType:
        """The card's type sizes."""
        return self.format.type


def count_to(number: int) -> range:
    return range(1, number + 1)


def capitals(size: float) -> float:
    return CAPITALS * size * POINT


def ring_at(question: Question, position: int, value: str, x: float, y: float) -> Place:
    return Place(
        question=question.id,
        position=position,
        value=value,
        kind=PlaceKind.MARK,
        centre=Point(x, y),
        radius=RING_RADIUS,
    )


def take_back(ring: Place, right: float, down: float) -> Place:
    return Place(
        question=ring.question,
        position=ring.position,
        value=ring.value,
        kind=PlaceKind.TAKE_BACK,
        centre=Point(ring.centre.x + right, ring.centre.y + down),
        radius=SQUARE / 2,
    )


def asked_large(question: Question, setting: Setting) -> tuple[Slot, tuple[Slot, Message], float]:
    """The slots of the deciding question and of how to taste above it; where they end."""
    type = setting.type
    small = capitals(type.small[0])
    lead = Slot(
        box=Box(0, 0, setting.width, small),
        what=say("how to taste"),
        sizes=type.fixed,
        ink=Ink.SOFT,
    )
    top = small + 2.4
    asked = Slot(
        box=Box(0, top, setting.width, type.question_height),
        what=say("the deciding question"),
        sizes=type.question,
        lines=2,
        face=Face.TITLE,
        fall=Fall.MIDDLE,
    )
    return lead, (asked, question.text), top + type.question_height + 2.6


def code_at(position: int, x: float, base: float, size: float, width: float) -> CodeBox:
    height = capitals(size)
    return CodeBox(position, Box(x - width / 2, base - height, width, height), size)


def named_beside(question: Question, setting: Setting, rows: int = 1) -> tuple[Slot, Message]:
    """The question in the column at the left: beside one row by its short name, beside several in
    full."""
    slot = Slot(
        box=Box(0, 0, setting.type.head_column - 2, rows * setting.type.row),
        what=say("a question's name"),
        sizes=setting.type.head,
        lines=rows + 1,
        face=Face.BOLD,
        fall=Fall.MIDDLE,
    )
    return slot, question.short if rows == 1 else question.text


def asked_above(question: Question, setting: Setting) -> tuple[tuple[Slot, Message], float]:
    """The question as a line of its own across the card, and where its answers may begin."""
    height = capitals(setting.type.head[0])
    slot = Slot(
        box=Box(0, 0, setting.width, height),
        what=say("a question"),
        sizes=(*setting.type.head, *setting.type.label[1:]),
        face=Face.BOLD,
    )
    return (slot, question.text), height + DEPTH * setting.type.head[0] * POINT + 1.0


def label_slot(
    box: Box,
    sizes: Sizes,
    anchor: Anchor,
    lines: int,
    fall: Fall = Fall.MIDDLE,
    alike: str = "",
) -> Slot:
    return Slot(
        box=box,
        what=say("an answer to choose"),
        sizes=sizes,
        lines=lines,
        anchor=anchor,
        fall=fall,
        leading=1.05,
        alike=alike,
    )


def too_narrow(question: Question, setting: Setting) -> PanelError:
    """The refusal of a question that needs a wider card."""
    return PanelError(
        "card-too-narrow",
        say(
            "The answers to “%(question)s” do not fit side by side on this card (%(card)s). Print "
            "a larger card, or leave the question out.",
            question=question.text,
            card=setting.format.name,
        ),
        field="card",
    )
