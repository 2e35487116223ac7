"""The hand tally: how an evening ends with a pencil, by the rule that was locked beforehand."""

from panel.core.drawing import Anchor, Drawing, Face, Ink, Shape, Text, rule
from panel.core.message import say
from panel.core.typesetting import largest_size
from panel.printing.blocks import (
    BODY,
    Block,
    as_large_as_fits,
    blanks,
    placed,
    space,
    steps,
    words,
)
from panel.printing.fonts import text_width
from panel.printing.kinds import tally_of
from panel.printing.sheet import Order, below_head, drawing, head
from panel.printing.tally_words import HandTally

SHEET = say("Hand tally")

COLUMNS = 6
ROW = 6.4
SIZE = 12.0
WRITTEN = 0.62
"""The share of the width that a line to write on takes."""
HEADING_SIZES = (9.0, 8.0, 7.0, 6.0)
N, DECISIVE = 8.0, 22.0
"""Where the two numbers of a pair end, in millimetres from its left."""


def hand_tally_page(order: Order) -> Drawing:
    """Steps, places for the two counts, and the deciding counts for 3 to 60 ballots."""
    page = order.page()
    box = below_head(page)
    speak = order.speak
    tally = tally_of(order.comparison)

    def made(room: float) -> list[Block]:
        return [
            *steps([speak(one) for one in tally.steps], room),
            space(1.5),
            *(blanks(speak(one), WRITTEN * room) for one in tally.written),
            space(4),
            words(speak(tally.reading), room, BODY),
            space(2),
            *_table(tally, order, room),
        ]

    blocks = as_large_as_fits(made, box.width, box.height)
    return drawing(page, [*head(order, page, SHEET), *placed(blocks, box.x, box.y)])


def _table(tally: HandTally, order: Order, room: float) -> list[Block]:
    """Pairs of a count and the deciding one, running down the columns."""
    rows = tally.rows
    deep = -(-len(rows) // COLUMNS)
    width = room / COLUMNS
    labels: list[Shape] = [rule(0, room, ROW, Ink.INK)]
    for column in range(COLUMNS):
        left = column * width
        labels += _pair(left, order.speak(tally.first), order.speak(tally.second), bold=False)
    blocks = [Block(ROW, tuple(labels), keep=True)]
    for row in range(deep):
        shapes: list[Shape] = [rule(0, room, ROW)]
        for column in range(COLUMNS):
            index = column * deep + row
            if index < len(rows):
                n, decisive = rows[index].tasters, rows[index].critical_number
                shown = "–" if decisive is None else str(decisive)
                shapes += _pair(column * width, str(n), shown, bold=True)
        blocks.append(Block(ROW, tuple(shapes)))
    return blocks


def _pair(left: float, n: str, decisive: str, *, bold: bool) -> list[Shape]:
    """A number of ballots and the count that decides, side by side; or their headings."""
    room = DECISIVE - N - 1
    size = SIZE if bold else largest_size(decisive, Face.TEXT, HEADING_SIZES, room, text_width)
    size = size or HEADING_SIZES[-1]
    own = size if bold else largest_size(n, Face.TEXT, HEADING_SIZES, N, text_width)
    return [
        Text(
            x=left + N,
            y=ROW - 1.8,
            text=n,
            size=own or HEADING_SIZES[-1],
            anchor=Anchor.END,
            ink=Ink.SOFT,
        ),
        Text(
            x=left + DECISIVE,
            y=ROW - 1.8,
            text=decisive,
            size=size,
            face=Face.BOLD if bold else Face.TEXT,
            anchor=Anchor.END,
            ink=Ink.INK if bold else Ink.SOFT,
        ),
    ]
