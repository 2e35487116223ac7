"""Nose first on one card: the codes once, under them a row to mark by smell and one after tasting.

The card is not turned over or folded: the reader looks at one side of a flat card. What keeps the
first choice as it was is that it is marked in ink before the first sip.
"""

from dataclasses import replace

from panel.core.drawing import POINT, Anchor, Face, Ink
from panel.core.message import Message, say
from panel.core.paper.card_blocks import BETWEEN_CODES
from panel.core.paper.card_format import LARGE_CARD, LARGE_PRINT
from panel.core.paper.card_grid import SMALLEST_CODE
from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Block, Place
from panel.core.paper.card_pieces import (
    CODE_WIDTH,
    NEAREST,
    TO_SQUARE,
    TO_TEXT,
    Setting,
    asked_large,
    capitals,
    code_at,
    count_to,
    label_slot,
    ring_at,
    take_back,
    too_narrow,
)
from panel.core.paper.code_figure import BAR
from panel.core.paper.geometry import Box
from panel.core.paper.slot import Fall, Slot
from panel.core.questions import NO_CHOICE, PickCups

NAMED = 0.74
"""Room for the names of the rows, as a share of the column for questions' names."""

SET_AS = {
    LARGE_PRINT: replace(LARGE_PRINT, code=35, question_height=12.4, head_column=38.0, row=NEAREST),
    LARGE_CARD: replace(LARGE_CARD, row=14.0),
}
"""Large print has the least white to spare: so set, what is usually asked still fits on A5. The
large cards have enough for rows that stand well apart."""


def two_steps(nose: PickCups, taste: PickCups, setting: Setting) -> Block:
    """Both choices over the same large codes, each with its small squares; between the rows stands
    how to taste."""
    type = SET_AS.get(setting.type, setting.type)
    setting = replace(setting, format=replace(setting.format, type=type))
    lead, asked, top = asked_large(nose, setting)
    left = NAMED * type.head_column
    refusal = nose.no_choice
    column = (setting.width - left) / (setting.cups + (refusal is not None))
    size = min(type.code, (column - BETWEEN_CODES) / CODE_WIDTH)
    if column < TO_SQUARE + RING_RADIUS + SQUARE + 2 or size < SMALLEST_CODE:
        raise too_narrow(nose, setting)
    base = top + capitals(size)
    y = base + BAR * size * POINT + TO_TEXT
    small = capitals(type.small[0])
    pitch = max(NEAREST, 2 * TO_TEXT + small, type.row)
    texts = [asked]
    places: list[Place] = []
    for row, question in enumerate((nose, taste)):
        here = y + row * pitch
        texts.append(_named(question, setting, left, here))
        for position in question.positions:
            places += _ring(question, position, "", left + column * (position - 0.5), here)
        if refusal is not None:
            places += _ring(question, 0, NO_CHOICE, left + column * (setting.cups + 0.5), here)
    codes = []
    for position in count_to(setting.cups):
        x = left + column * (position - 0.5)
        codes.append(code_at(position, x, base, size, column))
        if position in setting.references:
            box = Box(x - column / 2 + 1, y - 2.5, column - 2, 5.0)
            texts.append((label_slot(box, type.label, Anchor.MIDDLE, 1), say("reference")))
    if refusal is not None:
        x = left + column * setting.cups
        box = Box(x + 1, top, column - 2, base - top)
        sizes = (*type.label, *type.small)
        texts.append((label_slot(box, sizes, Anchor.MIDDLE, 2, Fall.BOTTOM), refusal))
    between = Slot(
        box=Box(0, y + (pitch - small) / 2, setting.width, small),
        what=say("how to taste"),
        sizes=type.fixed,
        ink=Ink.SOFT,
    )
    height = y + pitch + RING_RADIUS
    return Block(height, tuple(places), tuple(codes), tuple(texts), (lead, between))


def _ring(question: PickCups, position: int, value: str, x: float, y: float) -> tuple[Place, Place]:
    ring = ring_at(question, position, value, x, y)
    return ring, take_back(ring, TO_SQUARE, 0.0)


def _named(question: PickCups, setting: Setting, room: float, y: float) -> tuple[Slot, Message]:
    """The name of a row at its left."""
    height = 2 * TO_TEXT
    slot = Slot(
        box=Box(0, y - height / 2, room - 1.5, height),
        what=say("the name of a step"),
        sizes=(*setting.type.label, *setting.type.small),
        lines=2,
        face=Face.BOLD,
        fall=Fall.MIDDLE,
        leading=1.05,
        alike="step",
    )
    return slot, question.moment or question.short
