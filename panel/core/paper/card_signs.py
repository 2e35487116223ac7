"""Yes or no of whole cups, and a choice from a list, where they decide: large codes as on the tray,
and under them what is to be marked."""

from panel.core.drawing import POINT, Anchor
from panel.core.message import Message, say
from panel.core.paper.card_grid import SMALLEST_CODE
from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Block, CodeBox, Place
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
from panel.core.paper.slot import Slot
from panel.core.questions import Choice, YesNoPerCup

BETWEEN = 2.8
"""White between neighbouring large codes, so that two never read as one number."""

RIGHT_OF_RING = TO_SQUARE + SQUARE / 2 + 1.0
"""Millimetres that a ring and its small square take to the right of the ring's middle."""

KNOWN, LEAST_WHITE = 2.4, 1.2
"""White around the small code of a known cup, and around a large one."""

LEAST_LABEL = 9.0
"""Millimetres of words beside a ring; with less the card is too narrow."""


def signs_of_cups(question: YesNoPerCup, setting: Setting) -> Block:
    """A line for each cup in the order of the tray: its code large, then "yes" and "no", each with
    its small square; a known cup has a small line and says what it is."""
    type = setting.type
    lead, asked, top = asked_large(question, setting)
    left = type.code * CODE_WIDTH + 4.0
    cell = (setting.width - left) / 2
    texts: list[tuple[Slot, Message]] = [asked]
    codes, places, y, last = [], [], top, max(question.positions)
    for position in sorted({*setting.references, *question.positions}):
        known = position in setting.references
        size = type.side_code if known else type.code
        pitch = capitals(size) + KNOWN if known else max(capitals(size) + LEAST_WHITE, 2 * TO_TEXT)
        middle = y + pitch / 2
        y += pitch if known or position == last else max(NEAREST, pitch + LEAST_WHITE)
        base = middle + capitals(size) / 2
        codes.append(code_at(position, (left - 4.0) / 2, base, size, left - 4.0))
        if known:
            box = Box(left, middle - pitch / 2, setting.width - left, pitch)
            slot = label_slot(box, type.label, Anchor.START, 1)
            texts.append((slot, say("this is %(answer)s", answer=question.yes)))
            continue
        for column, (value, words) in enumerate((("yes", question.yes), ("no", question.no))):
            at = (left + column * cell, cell, middle)
            ring, text = _ring(question, setting, position, value, at, pitch)
            texts.append((text, words))
            places += [ring, take_back(ring, TO_SQUARE, 0.0)]
    return Block(y, tuple(places), tuple(codes), tuple(texts), (lead,))


def sign_of_tray(question: Choice, setting: Setting) -> Block:
    """The tray's codes, and under them the options side by side, each with its small square."""
    lead, asked, top = asked_large(question, setting)
    codes, y = _codes(question, setting, top, setting.width / setting.cups)
    cell = setting.width / len(question.options)
    texts: list[tuple[Slot, Message]] = [asked]
    places = []
    for index, option in enumerate(question.options):
        at = (index * cell, cell, y)
        ring, text = _ring(question, setting, 0, option.value, at, setting.type.row)
        texts.append((text, option.text))
        places += [ring, take_back(ring, TO_SQUARE, 0.0)]
    return Block(y + RING_RADIUS, tuple(places), codes, tuple(texts), (lead,))


def _codes(
    question: YesNoPerCup | Choice, setting: Setting, top: float, column: float
) -> tuple[tuple[CodeBox, ...], float]:
    """The codes of all cups side by side, and how far down the first rings stand."""
    size = min(setting.type.code, (column - BETWEEN) / CODE_WIDTH)
    if size < SMALLEST_CODE:
        raise too_narrow(question, setting)
    base = top + capitals(size)
    codes = tuple(
        code_at(position, column * (position - 0.5), base, size, column)
        for position in count_to(setting.cups)
    )
    return codes, base + BAR * size * POINT + TO_TEXT


def _ring(
    question: YesNoPerCup | Choice,
    setting: Setting,
    position: int,
    value: str,
    cell: tuple[float, float, float],
    height: float,
) -> tuple[Place, Slot]:
    """A ring near the middle of a cell (left, width, height of its middle), its words before it."""
    left, width, y = cell
    x = left + min(max(width / 2 + 1.0, LEAST_LABEL + TO_TEXT + 0.7), width - RIGHT_OF_RING)
    room = x - TO_TEXT - left - 0.6
    if room < LEAST_LABEL:
        raise too_narrow(question, setting)
    height = min(height, setting.type.row, NEAREST) - 0.6
    box = Box(left + 0.6, y - height / 2, room, height)
    slot = label_slot(box, setting.type.label, Anchor.END, 2, alike=question.id)
    return ring_at(question, position, value, x, y), slot
