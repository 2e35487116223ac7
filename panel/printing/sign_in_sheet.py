"""The sign-in sheet, printed on the back of the steward page: who was here, of age, and willing.

No card numbers: nobody can tell from it who answered what. A name may be left out.
"""

from collections.abc import Iterator
from itertools import count

from panel.core.drawing import Anchor, Drawing, Face, Group, Ink, Shape, rule
from panel.core.message import Message, say
from panel.core.paper.geometry import Box
from panel.core.script import cautions
from panel.core.typesetting import Style, paragraph
from panel.printing.blocks import TICK, Block, placed, points, stack, tick_box, words
from panel.printing.fonts import text_width
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("Sign in")
AUDIENCE = say("for tasters to read and sign")

ROW = 7.0
NAME = 0.46
"""The name's share of the width; the boxes to tick share the rest."""
HEADINGS = Style(Face.SEMIBOLD, 9, leading=1.15)


def sign_in_sheet(order: Order) -> bytes:
    """The sign-in sheet of a sitting: a line for every tray printed."""
    return order.drawn(sign_in_pages(order), SHEET, AUDIENCE)


def sign_in_pages(order: Order) -> list[Drawing]:
    """Its pages: what one agrees to, then the lines; every page has the headings."""
    page = order.page()
    box = below_head(page)
    labels = _labels(order)
    headings = _headings(order, labels, box.width)

    def places() -> Iterator[tuple[int, Box]]:
        for number in count():
            top = 0.0 if number == 0 else headings.height
            yield number, Box(box.x, box.y + top, box.width, box.height - top)

    lines = [_line(len(labels), box.width) for _tray in order.trays]
    pages = stack([*_agreed(order, box.width), headings, *lines], places())
    top = head(order, page, SHEET)
    drawn: list[Drawing] = []
    for number, shapes in sorted(pages.items()):
        again: tuple[Shape, ...] = placed((headings,), box.x, box.y) if number else ()
        drawn.append(drawing(page, (*top, *again, *shapes)))
    return drawn


def _agreed(order: Order, room: float) -> list[Block]:
    speak = order.speak
    consent = say(
        "You taste of your own free will. You may stop at any moment, spit out or leave a cup, and "
        "need not say why. Your answers stand under the number of your card, which is not on this "
        "sheet; a name is not needed. This sheet stays with the organiser and is destroyed when "
        "the result has been published."
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


def _line(boxes: int, room: float) -> Block:
    ticks = tuple(
        tick_box(middle - TICK / 2, (ROW - TICK) / 2 + 0.4)
        for middle, _width in _boxes(boxes, room)
    )
    return Block(ROW, (*ticks, rule(0, room, ROW)))


def _boxes(number: int, room: float) -> list[tuple[float, float]]:
    """Middle and width of each column of boxes, in millimetres."""
    width = room * (1 - NAME) / number
    return [(room * NAME + (place + 0.5) * width, width) for place in range(number)]
