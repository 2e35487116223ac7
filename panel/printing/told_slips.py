"""The slips of a split sitting: one for each tray, alike outside, with or without the told words.

A slip is a strip of three panels. The words are folded in upon rows of digits, and the panel with
the tray's number is folded back, so that the number alone is outside. All strips are of one size,
and whoever is told nothing reads about as many words as whoever is told something: neither the
folded slip nor the time somebody looks at it says which it is.
"""

from collections.abc import Iterator
from itertools import cycle, islice

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.drawing import Anchor, Drawing, Face, Ink, Line, Shape, Text
from panel.core.message import Message, say
from panel.core.paper.geometry import Box
from panel.core.smelling import only_smelled
from panel.core.typesetting import Style, does_not_fit
from panel.printing.blocks import Block, height_of, placed, space, words
from panel.printing.masking import rows_of_digits
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("Told slips")
AUDIENCE = say("for whoever folds them, who does not serve: folded, then to the steward")
TOLD = say("what the informed tasters are told, on their slips")

PANELS = 3
LEAST = 34.0
"""Millimetres of a slip's height, and the air between text and fold."""
AIR = 4.0
INSIDE = Style(Face.TEXT, 9.5, leading=1.2)
DASH = (2.0, 2.0)

OPENING = say(
    "This slip is yours alone. Say nothing of it to anybody until the last card is in, and fold "
    "it again when you have read it."
)
NOTHING = (
    say("You are told nothing about these cups: taste them as they come."),
    say("The numbers on them were drawn by lot and mean nothing."),
    say("Take your time over every cup."),
    say("Look at nobody’s face while you taste, and show nothing in your own."),
    say("Trust what you smell and taste, and nothing else."),
    say("Rinse with water before the first cup and between cups."),
    say("You may stop at any moment, and need not say why."),
)
"""What the blinded read: as many of these sentences as come nearest to the told words' length."""
NOTHING_SMELLED = (
    say("You are told nothing about these cups: smell them as they come."),
    say("The numbers on them were drawn by lot and mean nothing."),
    say("Take your time over every cup."),
    say("Look at nobody’s face while you smell, and show nothing in your own."),
    say("Trust your nose, and nothing else."),
    say("Breathe plain air before the first cup and between cups."),
    say("You may stop at any moment, and need not say why."),
)
"""The same where nothing is drunk."""


def told_slips(order: Order, informed: frozenset[int]) -> bytes:
    """The slips of a sitting in the order of its trays; informed: the numbers of those told."""
    return order.drawn(told_slip_pages(order, informed), SHEET, AUDIENCE)


def told_slip_pages(order: Order, informed: frozenset[int]) -> list[Drawing]:
    """Its pages: strips to be cut apart, a line about folding under the head of each."""
    page = order.page()
    box = below_head(page)
    how = words(order.speak(_how()), box.width)
    strip = _height(order, box.width / PANELS)
    room = box.height - how.height - AIR
    if strip > room:
        raise does_not_fit(order.sitting.told, TOLD)
    each = int(room / strip)
    trays = sorted(order.trays, key=lambda tray: tray.number)
    pages = []
    for first in range(0, len(trays), each):
        shapes: list[Shape] = [*head(order, page, SHEET), *placed((how,), box.x, box.y)]
        top = box.y + how.height + AIR
        for row, tray in enumerate(trays[first : first + each]):
            strip_box = Box(box.x, top + row * strip, box.width, strip)
            shapes += _strip(order, tray, tray.number in informed, strip_box)
        pages.append(drawing(page, shapes))
    return pages


def nothing_told(order: Order) -> str:
    """What a blinded taster's slip says, about as long as what the informed are told."""
    wanted = len(order.sitting.told)
    tries = [" ".join(map(order.speak, some)) for some in _first_so_many(_nothing(order))]
    return min(tries, key=lambda text: abs(len(text) - wanted))


def _nothing(order: Order) -> tuple[Message, ...]:
    return NOTHING_SMELLED if only_smelled(order.comparison) else NOTHING


def _first_so_many(nothing: tuple[Message, ...]) -> Iterator[tuple[Message, ...]]:
    """One sentence, two, … and all of them over again: the told words may be long."""
    for many in range(1, 2 * len(nothing) + 1):
        yield tuple(islice(cycle(nothing), many))


def _how() -> Message:
    return say(
        "Cut along the full lines. Fold the words in upon the digits, then the number back, so "
        "that it alone is outside. Lay the slips in the order of the trays. Whoever serves has not "
        "seen this page, and hands each tray its slip unread."
    )


def _height(order: Order, width: float) -> float:
    """The height of every strip: what the longer of the two texts needs."""
    needed = max(
        height_of(_inside(order, told, width - 2 * AIR)) + 2 * AIR for told in (True, False)
    )
    return max(LEAST, needed)


def _inside(order: Order, told: bool, room: float) -> list[Block]:
    text = order.sitting.told if told else nothing_told(order)
    return [
        words(order.speak(OPENING), room, INSIDE),
        space(1.5),
        words(text, room, INSIDE, what=TOLD if told else None),
    ]


def _strip(order: Order, tray: Tray, told: bool, box: Box) -> list[Shape]:
    width = box.width / PANELS
    first, second = box.x + width, box.x + 2 * width
    digits = Box(first + 1, box.y + 1, width - 2, box.height - 2)
    middle, centre = second + width / 2, box.y + box.height / 2
    size, speak = 8.5, order.speak
    open_alone = speak(say("before the first cup, by whoever has this tray"))
    return [
        *placed(_inside(order, told, width - 2 * AIR), box.x + AIR, box.y + AIR),
        *rows_of_digits(digits),
        Text(
            x=middle, y=centre, text=card_number(tray.number), size=26, face=Face.TITLE,
            anchor=Anchor.MIDDLE,
        ),
        Text(
            x=middle, y=centre + 7, text=open_alone, size=size, anchor=Anchor.MIDDLE, ink=Ink.SOFT,
            room=width - 2,
        ),
        *(
            Line(x1=x, y1=box.y, x2=x, y2=box.bottom, ink=Ink.SOFT, dash=DASH)
            for x in (first, second)
        ),
        *(
            Line(x1=box.x, y1=y, x2=box.right, y2=y, ink=Ink.INK)
            for y in (box.y, box.bottom)
        ),
    ]  # fmt: skip
