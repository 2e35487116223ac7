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
from panel.core.script import (
    cautions,
    order_of_the_evening,
    script_of,
    slip_handed_out,
    told,
)
from panel.core.smelling import only_smelled
from panel.core.typesetting import Style, does_not_fit, largest_size
from panel.printing.blocks import (
    ALOUD,
    LABEL_SIZES,
    SMALL,
    TICK,
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
from panel.printing.sheet import Order, below_head, drawing, head, waves_of

SHEET = say("Steward page")
AUDIENCE = say("for the steward: not for tasters")

TOLD = say("what the informed tasters are told, on the steward page")

GUTTER = 7.0
LEFT = 0.575
"""The script's share of the width."""
LIST_COLUMNS = 3
ROW = 5.2
SIZES = (11.0, 10.0, 9.0, 8.0)
LEAST_GAP = 1.6
OUT = 11.5
"""Millimetres that the two boxes to tick take at the right of a tray's line."""
SPOKEN = Style(ALOUD.face, 11, leading=1.25)


def steward_page(order: Order) -> bytes:
    """The steward page of a sitting."""
    return order.drawn(steward_pages(order), SHEET, AUDIENCE)


def steward_pages(order: Order) -> list[Drawing]:
    """Its pages: script and order of the evening, then the list, on further pages if need be."""
    page = order.page()
    box = below_head(page)
    width = (box.width - GUTTER) * LEFT
    right = box.x + width + GUTTER
    spoken, evening = _script(order, width), _evening(order, box.right - right)
    used = max(height_of(spoken), height_of(evening))
    first = [*placed(spoken, box.x, box.y), *placed(evening, right, box.y)]
    minded, height = _minded(order, Box(box.x, box.y + used, box.width, 0))
    first += minded
    used += height
    if used > box.height:
        raise does_not_fit(told(order.sitting), TOLD)
    pages = _list(order, Box(box.x, box.y + used, box.width, box.height - used), box)
    pages[0] = [*first, *pages.get(0, [])]
    top = head(order, page, SHEET)
    return [drawing(page, (*top, *shapes)) for _number, shapes in sorted(pages.items())]


def _script(order: Order, room: float) -> list[Block]:
    speak = order.speak
    blocks = [bare_heading(speak(say("Read aloud, word for word")), room)]
    for paragraph in script_of(order.comparison, order.sitting).paragraphs:
        sentence = " ".join(one if isinstance(one, str) else speak(one) for one in paragraph.said)
        what = TOLD if paragraph.told else None
        blocks += [words(sentence, room, SPOKEN, what=what), space(1.3)]
    return blocks


def _evening(order: Order, room: float) -> list[Block]:
    speak = order.speak
    first, second, *rest = order_of_the_evening(order.comparison)
    steps_ = (first, second, *slip_handed_out(order.sitting), *rest)
    said = [speak(one) for one in steps_]
    return [bare_heading(speak(say("The evening, in turn")), room), *steps(said, room, SMALL)]


def _minded(order: Order, box: Box) -> tuple[list[Shape], float]:
    """What goes before any tasting, in two columns below `box.y`; and the height it takes."""
    before = say("Before anybody tastes")
    if only_smelled(order.comparison):
        before = say("Before the first cup")
    title = heading(order.speak(before), box.width)
    room = (box.width - GUTTER) / 2
    said = points([order.speak(one) for one in cautions(order.served_here)], room, SMALL)
    left = said[: -(-len(said) // 2)]
    right = said[len(left) :]
    y = box.y + title.height
    shapes = [
        *placed((title,), box.x, box.y),
        *placed(left, box.x, y),
        *placed(right, box.x + room + GUTTER, y),
    ]
    return shapes, title.height + max(height_of(left), height_of(right))


def _list(order: Order, first: Box, later: Box) -> dict[int, list[Shape]]:
    """The trays by wave in columns: below the script on the first page, then on whole pages."""
    width = (first.width - (LIST_COLUMNS - 1) * GUTTER) / LIST_COLUMNS
    groups = [_wave(order, wave, trays, width) for wave, trays in waves_of(order.trays).items()]
    tallest = max(height_of(group) for group in groups)
    title = heading(order.speak(say("Trays by wave")), first.width)
    starts = 0 if first.height >= title.height + tallest else 1
    deep = _even_depth([height_of(group) for group in groups])

    def places() -> Iterator[tuple[int, Box]]:
        for number in count(starts):
            box = first if number == 0 else later
            top = box.y + title.height
            for column in range(LIST_COLUMNS):
                x = box.x + column * (width + GUTTER)
                yield number, Box(x, top, width, min(deep, box.bottom - top))

    pages = stack([block for group in groups for block in group], places())
    for number, shapes in pages.items():
        box = first if number == 0 else later
        shapes[:0] = [
            *placed((title,), box.x, box.y),
            *_numbered_from(order, Box(box.x, box.y, box.width, title.height)),
            rule(box.x, box.right, box.y + title.height - 1.2, Ink.INK),
        ]
    return pages


def _numbered_from(order: Order, box: Box) -> list[Shape]:
    """One line, beside the heading, where the cards do not begin at 1: a later sitting's do not."""
    planned = [tray.number for tray in order.trays if not tray.spare]
    if not planned or min(planned) == 1:
        return []
    first, last = min(planned), max(planned)
    said = order.speak(
        say("At this sitting cards run from %(first)s to %(last)s.", first=first, last=last)
    )
    room = box.width * 0.62
    size = largest_size(said, Face.SEMIBOLD, SIZES, room, text_width) or SIZES[-1]
    y = box.bottom - 3.4
    return [
        Text(x=box.right, y=y, text=said, size=size, face=Face.SEMIBOLD, anchor=Anchor.END,
             room=room)
    ]  # fmt: skip


def _even_depth(heights: Sequence[float]) -> float:
    """The least depth at which whole waves, one under another, fill no more than the columns."""
    deep = max(heights)
    while True:
        columns, used = 1, 0.0
        for height in heights:
            if used + height > deep + 1e-6:
                columns, used = columns + 1, 0.0
            used += height
        if columns <= LIST_COLUMNS:
            return deep
        deep += ROW


def _wave(order: Order, wave: int, trays: Sequence[Tray], width: float) -> list[Block]:
    speak = order.speak
    name = (
        say("Spare trays, wave %(wave)s", wave=wave)
        if trays[0].spare
        else say("Wave %(wave)s", wave=wave)
    )
    ticks = ((width - OUT, say("out")), (width - TICK, say("in")))
    labels = tuple(
        Text(x=x + TICK / 2, y=4.2, text=speak(word), size=8.5, anchor=Anchor.MIDDLE, ink=Ink.SOFT)
        for x, word in ticks
    )
    room, called = width - OUT - 2, speak(name)
    large = largest_size(called, Face.BOLD, LABEL_SIZES, room, text_width) or LABEL_SIZES[-1]
    title = Text(x=0, y=4.2, text=called, size=large, face=Face.BOLD, room=room)
    size = _size(order.trays, width)
    rows = [_tray(tray, width, size, last=tray is trays[-1]) for tray in trays]
    return [Block(5.0, (title, *labels), keep=True), *rows, space(1.2)]


def _size(trays: Sequence[Tray], width: float) -> float:
    """The largest type at which every number and its codes stand beside the boxes."""
    cups = max(len(tray.cups) for tray in trays)
    for size in SIZES:
        number = max(text_width(card_number(tray.number), Face.TITLE, size) for tray in trays)
        codes = cups * (code_width("000", size, text_width) + LEAST_GAP)
        if number + codes + OUT + 3.5 <= width:
            return size
    return SIZES[-1]


def _tray(tray: Tray, width: float, size: float, *, last: bool) -> Block:
    out = width - OUT
    number = text_width(card_number(tray.number), Face.TITLE, size)
    code = code_width("000", size, text_width)
    gap = min((out - number - 2) / len(tray.cups) - code, 3.4)
    start = out - len(tray.cups) * (code + gap) - 0.6
    shapes: list[Shape] = [
        Text(x=0, y=3.95, text=card_number(tray.number), size=size, face=Face.TITLE)
    ]
    for place, digits in enumerate(tray.codes()):
        x = start + place * (code + gap)
        shapes += code_figure(digits, x, 3.95, size, text_width, Anchor.START)
    shapes += [tick_box(out, 0.7), tick_box(width - TICK, 0.7), rule(0, width, ROW)]
    return Block(ROW, tuple(shapes), keep=not last)
