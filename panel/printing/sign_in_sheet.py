"""The sign-in sheet, printed on the back of the steward page: who was here, of age, and willing.

No card numbers: nobody can tell from it who answered what. A name may be left out.
"""

from collections.abc import Iterator
from itertools import count

from panel.core.drawing import Anchor, Drawing, Face, Group, Ink, Shape, rule
from panel.core.message import Message, say
from panel.core.paper.geometry import Box
from panel.core.script import cautions
from panel.core.smelling import OF_FREE_WILL, only_smelled
from panel.core.typesetting import Style, paragraph
from panel.printing.blocks import (
    TICK,
    Block,
    enlarged,
    height_of,
    placed,
    points,
    stack,
    tick_box,
    words,
)
from panel.printing.fonts import text_width
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("Sign in")
AUDIENCE = say("for tasters to read and sign")

LOWEST, WANTED, HIGHEST = 6.2, 8.2, 12.0
"""Millimetres of a line: the least to write in, what is easy, the most that looks like a line."""
CLEAR = 2.5
"""Millimetres between the last line and the foot, whose rule is no line to write on."""
NAME = 0.46
"""The name's share of the width; the boxes to tick share the rest."""
HEADINGS = Style(Face.SEMIBOLD, 9, leading=1.15)


def sign_in_sheet(order: Order) -> bytes:
    """The sign-in sheet of a sitting: a line for every tray printed, or more."""
    return order.drawn(sign_in_pages(order), SHEET, AUDIENCE)


def sign_in_pages(order: Order) -> list[Drawing]:
    """Its pages: what one agrees to, then the lines; every page has the headings."""
    page = order.page()
    box = below_head(page)
    labels, people = _labels(order), len(order.trays)
    agreed, headings, row = _measured(order, labels, box, people)

    def places() -> Iterator[tuple[int, Box]]:
        for number in count():
            top = 0.0 if number == 0 else headings.height
            yield number, Box(box.x, box.y + top, box.width, box.height - top)

    first = int((box.height - height_of(agreed) - headings.height) / row + 1e-6)
    later = int((box.height - headings.height) / row + 1e-6)
    more = -(-max(people - first, 0) // later) * later  # a page begun is a page of lines
    lines = [_line(len(labels), box.width, row)] * (first + more if more else people)
    pages = stack([*agreed, headings, *lines], places())
    top = head(order, page, SHEET)
    drawn: list[Drawing] = []
    for number, shapes in sorted(pages.items()):
        again: tuple[Shape, ...] = placed((headings,), box.x, box.y) if number else ()
        drawn.append(drawing(page, (*top, *again, *shapes)))
    return drawn


def _measured(
    order: Order, labels: list[Message], box: Box, people: int
) -> tuple[list[Block], Block, float]:
    """What is agreed to, the headings, and the height of a line: in the largest type that leaves
    lines easy to write on, all on one page where that can be."""
    for by in (1.3, 1.2, 1.1, 1.0):
        agreed = [enlarged(block, by) for block in _agreed(order, box.width / by)]
        headings = enlarged(_headings(order, labels, box.width / by), by)
        row = (box.height - CLEAR - height_of(agreed) - headings.height) / max(people, 1)
        if row >= WANTED or (by == 1.0 and row >= LOWEST):
            return agreed, headings, min(row, HIGHEST)
    return agreed, headings, WANTED


def _agreed(order: Order, room: float) -> list[Block]:
    speak = order.speak
    consent = say(
        "%(free)s Your answers stand under the number of your card, which is not on this "
        "sheet; a name is not needed. This sheet stays with the organiser and is destroyed when "
        "the result has been published.",
        free=OF_FREE_WILL
        if only_smelled(order.comparison)
        else say(
            "You taste of your own free will. You may stop at any moment, spit out or leave a cup, "
            "and need not say why."
        ),
    )
    said = [speak(one) for one in cautions(order.served_here)]
    return [words(speak(consent), room), Block(1.5), *points(said, room), Block(2.0)]


def _labels(order: Order) -> list[Message]:
    age = order.comparison.serving.minimum_age
    labels = [say("I have read the allergens"), say("I take part freely")]
    return [say("I am %(age)s or over", age=age), *labels] if age else labels


def _headings(order: Order, labels: list[Message], room: float) -> Block:
    """The headings, standing on their rule whatever their number of lines."""
    speak = order.speak
    tall = 8.4
    named = [(0.0, NAME * room, say("Name or nickname, if you like"), Anchor.START)]
    named += [
        (middle, width - 2, label, Anchor.MIDDLE)
        for (middle, width), label in zip(_boxes(len(labels), room), labels, strict=True)
    ]
    shapes: list[Shape] = []
    for x, width, label, anchor in named:
        set_text = paragraph(speak(label), x, 0, width, HEADINGS, text_width, anchor=anchor)
        shapes.append(Group(shapes=set_text.shapes, y=tall - set_text.height))
    return Block(tall + 1, (*shapes, rule(0, room, tall + 1, Ink.INK)), keep=True)


def _line(boxes: int, room: float, row: float) -> Block:
    side = min(TICK * row / LOWEST, row - 2)
    ticks = tuple(
        tick_box(middle - side / 2, (row - side) / 2, side)
        for middle, _width in _boxes(boxes, room)
    )
    return Block(row, (*ticks, rule(0, room, row)))


def _boxes(number: int, room: float) -> list[tuple[float, float]]:
    """Middle and width of each column of boxes, in millimetres."""
    width = room * (1 - NAME) / number
    return [(room * NAME + (place + 0.5) * width, width) for place in range(number)]
