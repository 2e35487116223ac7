"""A row for each cup and a column for each value: yes or no, a scale, an order."""

from panel.core.drawing import POINT, Anchor, Ink
from panel.core.message import Message, say
from panel.core.paper.card_format import Sizes
from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Block
from panel.core.paper.card_pieces import (
    CODE_WIDTH,
    NEAREST,
    TO_SQUARE,
    TO_TEXT,
    Setting,
    asked_above,
    asked_large,
    capitals,
    code_at,
    label_slot,
    ring_at,
    take_back,
    too_narrow,
)
from panel.core.paper.code_figure import BAR
from panel.core.paper.geometry import Box
from panel.core.paper.slot import Slot
from panel.core.questions import OrderCups, ScalePerCup, YesNoPerCup

SMALLEST_CODE = 24.0
"""Points. Codes of the deciding question are read at arm's length, in a pub's light."""

BELOW = 5.7
"""The same, when it stands below: nearer to its own ring than to the next."""

BESIDE = 18.0
"""Columns this wide have the small squares beside their rings, narrower ones below."""


def grid_block(
    question: YesNoPerCup | ScalePerCup | OrderCups,
    setting: Setting,
    deciding: bool,
    values: tuple[tuple[str, Message], ...],
    ends: tuple[Message, Message] | None,
) -> Block:
    """A row for each cup, a column for each value; where it decides, a small square below each, but
    not in an order: there every cup has one place and every place one cup, so that a mark too many
    is seen, and squares would double what is to be read."""
    type = setting.type
    leads: tuple[Slot, ...] = ()
    if deciding:
        lead, head, top = asked_large(question, setting)
        leads = (lead,)
    else:
        head, top = asked_above(question, setting)
    texts = [head]
    size = type.code if deciding else type.side_code
    if isinstance(question, OrderCups):
        size = min(size, SMALLEST_CODE)
    left = size * CODE_WIDTH + 4.0
    pitch = min((setting.width - left) / len(values), 26.0)
    if pitch < NEAREST:
        raise too_narrow(question, setting)
    if ends is not None:
        height = capitals(type.small[0])
        across = pitch * len(values) / 2
        for text, anchor, x in (
            (ends[0], Anchor.START, left),
            (ends[1], Anchor.END, left + across),
        ):
            box = Box(x, top, across - 1, height)
            texts.append((_end(box, type.small, anchor), text))
        top += height + 2.0
    label = capitals(type.label[0])
    for number, (_, words) in enumerate(values):
        box = Box(left + number * pitch, top, pitch, label)
        texts.append((label_slot(box, type.label, Anchor.MIDDLE, 1), words))
    top += label + TO_TEXT
    right, down = (TO_SQUARE, 0.0) if pitch >= BESIDE else (0.0, BELOW)
    squares = deciding and not isinstance(question, OrderCups)
    square = SQUARE / 2 + down if squares and down else 0.0
    row = max(type.row, NEAREST, 1.6 * capitals(size), square and square + RING_RADIUS + 3.8)
    codes, places = [], []
    for index, position in enumerate(question.positions):
        y = top + index * row
        codes.append(code_at(position, (left - 4) / 2, y + capitals(size) / 2, size, left - 4))
        for number, (value, _) in enumerate(values):
            ring = ring_at(question, position, value, left + (number + 0.5) * pitch, y)
            places += [ring, take_back(ring, right, down)] if squares else [ring]
    lowest = max(square, RING_RADIUS, capitals(size) * 0.5 + BAR * size * POINT)
    height = top + (len(question.positions) - 1) * row + lowest
    return Block(height, tuple(places), tuple(codes), tuple(texts), leads)


def _end(box: Box, sizes: Sizes, anchor: Anchor) -> Slot:
    return Slot(
        box=box, what=say("the name of a scale's end"), sizes=sizes, ink=Ink.SOFT, anchor=anchor
    )
