"""What a card's layout consists of: places to mark, codes, writing lines, texts; frozen values."""

from dataclasses import dataclass, replace
from enum import StrEnum

from panel.core.message import Message
from panel.core.paper.card_format import CardFormat
from panel.core.paper.geometry import Box, Point
from panel.core.paper.slot import Slot

RING_RADIUS = 2.5
RING_LINE = 0.2
"""Rings to fill in: 5 mm across, their outline 0.2 mm of grey."""

SQUARE = 3.0
"""Side of the small square "not this one"."""

CLEAR = 1.6
"""No text or line comes nearer to a ring's centre than this many radii."""

MARK_RADII = (3.5, 2.31, 1.19)
MARK_INSET = 8.5
MARK_CLEAR = 3.0
"""Corner marks: black disc, white disc, black disc; centres this far from the edges of the part
that stays when the stub is torn off; white around."""

EDGE = 9.0
"""Text keeps this far from a card's left and right edges."""

CODE_SIZE = 22.0
CODE_QUIET = 4.0
"""The QR code and the white around it."""


class PlaceKind(StrEnum):
    """What filling a place says."""

    MARK = "mark"  # this one
    TAKE_BACK = "take-back"  # not this one: the mark beside it does not count


@dataclass(frozen=True, kw_only=True)
class Place:
    """Something to fill in: a ring (MARK) or a small square (TAKE_BACK).

    `position` is the cup it speaks of, 0 if none; `value` is what it says of it: a step of a
    scale, a rank, "yes", an option, NO_CHOICE, or "" where picking the cup says it all. A take-back
    square has question, position and value of the ring it belongs to. `radius`: half its width.
    """

    question: str
    position: int
    value: str
    kind: PlaceKind
    centre: Point
    radius: float


@dataclass(frozen=True)
class CodeBox:
    """Where a cup's code stands: centred, its digits as high as the box; size in points."""

    position: int
    box: Box
    size: float


@dataclass(frozen=True)
class WordArea:
    """Where somebody writes: never machine-read, cut out whole for who reads it. `lines` are the
    y of the ruled lines, `start` the x at which the first begins (its name stands before it)."""

    question: str
    box: Box
    lines: tuple[float, ...]
    start: float


@dataclass(frozen=True)
class Block:
    """What one question puts on a card, from the block's top left corner."""

    height: float
    places: tuple[Place, ...] = ()
    codes: tuple[CodeBox, ...] = ()
    texts: tuple[tuple[Slot, Message], ...] = ()
    leads: tuple[Slot, ...] = ()

    def moved(self, right: float, down: float) -> "Block":
        """The same block elsewhere."""
        return replace(
            self,
            places=tuple(
                replace(place, centre=Point(place.centre.x + right, place.centre.y + down))
                for place in self.places
            ),
            codes=tuple(
                replace(
                    code,
                    box=replace(code.box, x=code.box.x + right, y=code.box.y + down),
                )
                for code in self.codes
            ),
            texts=tuple((slot.moved(right, down), text) for slot, text in self.texts),
            leads=tuple(lead.moved(right, down) for lead in self.leads),
        )


@dataclass(frozen=True, kw_only=True)
class CardLayout:
    """Where everything sits on a card, in millimetres from its top left corner.

    `stays` is the part that is handed in; `marks` are its four corner marks' centres, from the
    top left clockwise; `stub` is what the taster keeps. `texts` are the questions' words in their
    slots, `leads` those for how to smell or taste, one for each choice, `ways` those for the phone
    and the pencil.
    """

    format: CardFormat
    cups: int
    stays: Box
    stub: Box
    code: Box
    marks: tuple[Point, ...]
    header: Box
    ways: tuple[Slot, ...]
    leads: tuple[Slot, ...]
    rules: tuple[float, ...]
    places: tuple[Place, ...]
    codes: tuple[CodeBox, ...]
    texts: tuple[tuple[Slot, Message], ...]
    words: tuple[WordArea, ...]
