"""The sheet of repeat trials: one taster alone, rounds fixed beforehand, codes under the cups.

The choice is marked by place before a cup is turned over; only then is its code copied. So it does
not matter that the taster has poured, and seen the mat.
"""

from collections.abc import Iterator, Sequence
from itertools import count

from panel.core.allocation.check_letter import card_number
from panel.core.blinding import recipe
from panel.core.comparison import Tray
from panel.core.drawing import Anchor, Circle, Drawing, Face, Ink, Rect, Shape, Text, rule
from panel.core.message import Message, say
from panel.core.methods import Ranking, method_named
from panel.core.names import Helpers, Smell
from panel.core.paper.geometry import Box
from panel.core.script import cautions, tasting_rules
from panel.core.smelling import by_smell
from panel.printing.blocks import (
    BODY,
    SMALL,
    STRONG,
    Block,
    as_large_as_fits,
    blanks,
    placed,
    points,
    space,
    stack,
    steps,
    words,
)
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("Repeat trials")
AUDIENCE = say("for the one who tastes")

ROW = 13.0
NUMBER = 30.0
HEADINGS = 7.0
RING, RING_TO_WRITE = 2.6, 4.6
NAMES = 10.0
UPPER = 3.5
"""Of two rows of rings: room for their names, and how far down the upper one stands."""


def repeat_sheet(order: Order) -> bytes:
    """The sheet of a repeat-trial sitting."""
    return order.drawn(repeat_pages(order), SHEET, AUDIENCE)


def repeat_pages(order: Order) -> list[Drawing]:
    """Its pages: the recipe, then a line for every round."""
    page = order.page()
    box = below_head(page)
    rounds = [tray for tray in sorted(order.trays, key=lambda tray: tray.number) if not tray.spare]

    def made(room: float) -> list[Block]:
        lines = [_round(order, number, tray, room) for number, tray in enumerate(rounds, start=1)]
        return [*_recipe(order, room), _headings(order, room), *lines, *_result(order, room)]

    headings = _headings(order, box.width)

    def places() -> Iterator[tuple[int, Box]]:
        for number in count():
            top = 0.0 if number == 0 else headings.height
            yield number, Box(box.x, box.y + top, box.width, box.height - top)

    pages = stack(as_large_as_fits(made, box.width, box.height), places())
    top = head(order, page, SHEET)
    drawn: list[Drawing] = []
    for number, shapes in sorted(pages.items()):
        again: tuple[Shape, ...] = placed((headings,), box.x, box.y) if number else ()
        drawn.append(drawing(page, (*top, *again, *shapes)))
    return drawn


def _recipe(order: Order, room: float) -> list[Block]:
    speak = order.speak
    method = method_named(order.comparison.plan.method)
    smell = order.comparison.plan.smell
    said = [speak(one) for one in recipe(Helpers.ALONE, smell, ordered=_ordered(order))]
    if method.references:
        said.append(
            speak(
                say("The reference, the first cup of the mat, stays at the left; shuffle the rest.")
            )
        )
    asked = [part for step in by_smell(order.comparison) for part in step]
    asked = asked or [method.decides(order.comparison.plan).text]
    rules = " ".join(speak(one) for one in (*asked, *tasting_rules(order.comparison)))
    return [
        *steps(said, room),
        space(1.5),
        words(rules, room, STRONG),
        space(1.5),
        *points([speak(one) for one in cautions(order.served_here)], room, SMALL),
        space(2),
    ]


def _result(order: Order, room: float) -> list[Block]:
    """What is written down when the rounds are over."""
    speak = order.speak
    written = [say("Rounds finished")]
    if not _ordered(order):  # where no order is a wrong one
        written.append(say("Right, once the key is open"))
    return [space(4), *(blanks(speak(one), room * 0.45) for one in written)]


def _columns(order: Order, room: float) -> tuple[int, float]:
    cups = method_named(order.comparison.plan.method).cups_of(order.comparison.plan)
    return cups, (room - _left(order)) / cups


def _ordered(order: Order) -> bool:
    """Whether places are written, not one of them chosen."""
    return isinstance(method_named(order.comparison.plan.method), Ranking)


def _twice(order: Order) -> bool:
    """Nose first there are two rings for each place, one above the other."""
    return order.comparison.plan.smell is Smell.FIRST and not _ordered(order)


def _left(order: Order) -> float:
    """Room at the left of a line: for its number, and for the names of two rows of rings."""
    return NUMBER + NAMES if _twice(order) else NUMBER


def _headings(order: Order, room: float) -> Block:
    cups, width = _columns(order, room)
    names: Sequence[Message] = (
        say("first"), say("second"), say("third"), say("fourth"), say("fifth"), say("sixth"),
    )  # fmt: skip
    shapes: list[Shape] = [
        Text(x=0, y=4.6, text=order.speak(say("Round, card")), size=9.5, face=Face.SEMIBOLD),
        rule(0, room, HEADINGS, Ink.INK),
    ]
    left = _left(order)
    for place in range(cups):
        shapes.append(
            Text(
                x=left + (place + 0.5) * width, y=4.6, text=order.speak(names[place]), size=9.5,
                face=Face.SEMIBOLD, anchor=Anchor.MIDDLE,
            )
        )  # fmt: skip
    return Block(HEADINGS, tuple(shapes), keep=True)


def _round(order: Order, number: int, tray: Tray, room: float) -> Block:
    """A ring to mark and a box for the code, for each place in which a cup may have stood."""
    cups, width = _columns(order, room)
    box = min(20.0, width - 16.0)  # nearer to its own ring than to the next
    ring = RING_TO_WRITE if _ordered(order) else RING
    shapes: list[Shape] = [
        Text(x=0, y=8.4, text=str(number), size=16, face=Face.TITLE),
        Text(x=10, y=8.4, text=card_number(tray.number), size=BODY.size, ink=Ink.SOFT),
        rule(0, room, ROW),
    ]
    rows: tuple[tuple[float, Message | None], ...] = ((ROW / 2, None),)
    if _twice(order):
        rows = ((UPPER, say("By smell")), (ROW - UPPER, say("After tasting")))
    for y, name in rows:
        if name is not None:
            shapes.append(Text(x=NUMBER - 8, y=y + 1.0, text=order.speak(name), size=8))
    for place in range(cups):
        middle = _left(order) + (place + 0.5) * width
        shapes += [
            *(Circle(x=middle - 11, y=y, radius=ring, width=0.3) for y, _ in rows),
            Rect(x=middle - 5, y=2.2, width=box, height=ROW - 4.4, stroke=Ink.SOFT),
        ]
    return Block(ROW, tuple(shapes))
