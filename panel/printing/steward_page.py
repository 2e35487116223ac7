"""The steward page: what to read aloud, what to mind, and the list of trays by wave.

Codes only. It is drawn from the blinded side of a comparison, so that it stays the same to the
byte when the beers change places.
"""

from collections.abc import Iterator, Sequence
from itertools import count

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.drawing import Anchor, Drawing, Face, Ink, Shape, Text, rule
from panel.core.message import say
from panel.core.paper.code_figure import code_figure, code_width
from panel.core.paper.geometry import Box
from panel.core.typesetting import Style
from panel.printing.blocks import (
    ALOUD,
    SMALL,
    Block,
    bare_heading,
    heading,
    height_of,
    placed,
    points,
    space,
    stack,
    steps,
    tick_box,
    words,
)
from panel.printing.fonts import text_width
from panel.printing.script import aloud, cautions, order_of_the_evening, told
from panel.printing.sheet import Order, below_head, drawing, head, waves_of

SHEET = say("Steward page")
AUDIENCE = say("for the steward: not for tasters")

GUTTER = 7.0
LEFT = 0.575
"""The script's share of the width."""
LIST_COLUMNS = 3
ROW = 5.5
CODE_SIZE = 11.0
SPOKEN = Style(ALOUD.face, 11, leading=1.25)


def steward_page(order: Order) -> bytes:
    """The steward page of a sitting."""
    return order.drawn(steward_pages(order), SHEET, AUDIENCE)


def steward_pages(order: Order) -> list[Drawing]:
    """Its pages: script and order of the evening, then the list, on further pages if need be."""
    page = order.page()
    box = below_head(page)
    width = (box.width - GUTTER) * LEFT
    left = Box(box.x, box.y, width, box.height)
    right = Box(left.right + GUTTER, box.y, box.width - GUTTER - width, box.height)
    spoken, minded = _script(order, left.width), _minded(order, right.width)
    used = max(height_of(spoken), height_of(minded)) + 1
    first = [*placed(spoken, left.x, left.y), *placed(minded, right.x, right.y)]
    pages = _list(order, Box(box.x, box.y + used, box.width, box.height - used), box)
    pages[0] = [*first, *pages.get(0, [])]
    top = head(order, page, SHEET)
    return [drawing(page, (*top, *shapes)) for _number, shapes in sorted(pages.items())]


def _script(order: Order, room: float) -> list[Block]:
    speak = order.speak
    sentences = [" ".join(speak(one) for one in part) for part in aloud(order.comparison)]
    blocks = [bare_heading(speak(say("Read aloud, word for word")), room)]
    extra = told(order.sitting)
    for number, sentence in enumerate(sentences):
        blocks += [words(sentence, room, SPOKEN), space(1.5)]
        if number == 0 and extra:
            what = say("what the informed tasters are told, on the steward page")
            blocks += [words(extra, room, SPOKEN, what=what), space(1.5)]
    return blocks


def _minded(order: Order, room: float) -> list[Block]:
    speak = order.speak
    return [
        bare_heading(speak(say("The evening, in turn")), room),
        *steps([speak(one) for one in order_of_the_evening(order.comparison)], room, SMALL),
        heading(speak(say("Before anybody tastes")), room),
        *points([speak(one) for one in cautions(order.comparison)], room, SMALL),
    ]


def _list(order: Order, first: Box, later: Box) -> dict[int, list[Shape]]:
    """The trays by wave in columns: below the script on the first page, then on whole pages."""
    width = (first.width - (LIST_COLUMNS - 1) * GUTTER) / LIST_COLUMNS
    groups = [_wave(order, wave, trays, width) for wave, trays in waves_of(order.trays).items()]
    tallest = max(height_of(group) for group in groups)
    title = heading(order.speak(say("Trays by wave")), first.width)
    starts = 0 if first.height >= title.height + tallest else 1

    def places() -> Iterator[tuple[int, Box]]:
        for number in count(starts):
            box = first if number == 0 else later
            top = box.y + title.height
            for column in range(LIST_COLUMNS):
                x = box.x + column * (width + GUTTER)
                yield number, Box(x, top, width, box.bottom - top)

    pages = stack([block for group in groups for block in group], places())
    for number, shapes in pages.items():
        box = first if number == 0 else later
        shapes[:0] = [
            *placed((title,), box.x, box.y),
            rule(box.x, box.right, box.y + title.height - 1.2, Ink.INK),
        ]
    return pages


def _wave(order: Order, wave: int, trays: Sequence[Tray], width: float) -> list[Block]:
    speak = order.speak
    name = (
        say("Spare trays, wave %(wave)s", wave=wave)
        if trays[0].spare
        else say("Wave %(wave)s", wave=wave)
    )
    out, back = width - 14.0, width - 4.6
    label = Block(
        5.6,
        (
            Text(x=0, y=4.4, text=speak(name), size=10.5, face=Face.BOLD),
            *(
                Text(
                    x=x + 1.8, y=4.4, text=speak(word), size=8.5, anchor=Anchor.MIDDLE, ink=Ink.SOFT
                )
                for x, word in ((out, say("out")), (back, say("in")))
            ),
        ),
        keep=True,
    )
    rows = [_tray(tray, width, out, back, last=tray is trays[-1]) for tray in trays]
    return [label, *rows, space(1.8)]


def _tray(tray: Tray, width: float, out: float, back: float, *, last: bool) -> Block:
    pitch = code_width("000", CODE_SIZE, text_width) + 3.4
    shapes: list[Shape] = [
        Text(x=0, y=4.05, text=card_number(tray.number), size=CODE_SIZE, face=Face.TITLE)
    ]
    start = out - 4.0 - pitch * len(tray.cups) + 3.4
    for place, code in enumerate(tray.codes()):
        x = start + place * pitch
        shapes += code_figure(code, x, 4.05, CODE_SIZE, text_width, Anchor.START)
    shapes += [tick_box(out, 0.8), tick_box(back, 0.8), rule(0, width, ROW)]
    return Block(ROW, tuple(shapes), keep=not last)
