"""The sealed key: which cup is which, and how an evening ends without a computer.

The first page is the outside: laid on the others and folded with them once, the key is inside. It
is printed over with digits, as pay envelopes are, so that nothing shows through against a lamp.
The last page is the hand tally.
"""

from collections.abc import Iterator
from itertools import count

from panel.core.allocation.written_secret import WrittenSecret
from panel.core.comparison import Key, Tray
from panel.core.drawing import Anchor, Drawing, Face, Ink, Line, Rect, Shape, Text
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Blinding, Information
from panel.core.paper.code_figure import code_figure, code_width
from panel.core.paper.geometry import Box
from panel.core.typesetting import Style, largest_size
from panel.printing.blocks import (
    BODY,
    Block,
    as_large_as_fits,
    blanks,
    height_of,
    placed,
    space,
    stack,
    steps,
    tick_box,
    words,
)
from panel.printing.fonts import text_width
from panel.printing.foot import inside
from panel.printing.hand_tally import hand_tally_page
from panel.printing.kinds import key_explained, true_answer
from panel.printing.masking import rows_of_digits
from panel.printing.secret_block import secret_block
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("Sealed key")
AUDIENCE = say("sealed: for nobody before the last sitting has closed")

GUTTER = 10.0
ROW = 5.8
SIZE = 10.5
WIDE = 128.0
"""Millimetres of a line where four cups leave no room for two columns."""
NARROW = 98.0
"""The same for three cups or two: the eye has to go from the codes to the answer."""
ONE_COLUMN = (1.45, 1.35, 1.25, 1.15)
"""How much larger the key is set where it stands on one page in one column."""
TAB, TAB_WIDTH = 8.0, 12.0
"""Millimetres of a mark where tape goes."""
TAPE_SIZES = (9.0, 8.0, 7.0, 6.0)
WARNING = Style(Face.TITLE, 15, leading=1.25)
NAME = Style(Face.TITLE, 34, leading=1.1)


def sealed_key(
    order: Order,
    key: Key,
    informed: frozenset[int] = frozenset(),
    secret: WrittenSecret | None = None,
) -> bytes:
    """The sealed key of a sitting: outside, key, hand tally. informed: as the lots of a split
    sitting have it. secret: from which the key can be drawn again, should the computer be lost."""
    return order.drawn(sealed_key_pages(order, key, informed, secret), SHEET, AUDIENCE)


def sealed_key_pages(
    order: Order,
    key: Key,
    informed: frozenset[int] = frozenset(),
    secret: WrittenSecret | None = None,
) -> list[Drawing]:
    """Its pages: the outside, as many of the key as are needed, the tally."""
    return [_outside(order), *_key(order, key, informed, secret), hand_tally_page(order)]


def _outside(order: Order) -> Drawing:
    page = order.page()
    box = inside(page)
    speak = order.speak
    fold = page.height / 2
    upper = Box(box.x, box.y, box.width, fold - 6 - box.y)
    lower = Box(box.x, fold + 6, box.width, box.bottom - fold - 6)
    room = box.width - 44
    front = [
        words(speak(SHEET), room, NAME),
        space(2),
        words(
            speak(say("Do not open before the last sitting of this comparison has closed.")),
            room,
            WARNING,
        ),
        space(2),
        words(order.context(), room, BODY, what=say("the titles on the sealed key")),
    ]
    back = [
        *steps([speak(one) for one in _folding()], room),
        space(1),
        blanks(speak(say("Sealed by, on")), room),
        blanks(speak(say("Opened by, on, at")), room),
        blanks(speak(say("In the presence of")), room),
        blanks(speak(say("Opened early? Why")), room),
    ]
    shapes = [
        *_tinted(upper, front),
        *_tinted(lower, back),
        *_tape_marks(order, upper, upper.y),
        *_tape_marks(order, lower, lower.bottom - TAB),
        Line(x1=0, y1=fold, x2=page.width, y2=fold, ink=Ink.INK, dash=(3, 2)),
        Text(
            x=page.width / 2,
            y=fold - 1.6,
            text=speak(say("fold here, this side out")),
            size=8.5,
            anchor=Anchor.MIDDLE,
        ),
    ]
    return drawing(page, shapes)


def _tape_marks(order: Order, half: Box, edge: float) -> list[Shape]:
    """Where tape goes over a half's open edges: its sides, and the edge away from the fold (`edge`
    is the top of that mark). Those of the other half lie behind them once it is folded."""
    side = half.y + (half.height - TAB) / 2
    word = order.speak(say("tape"))
    size = largest_size(word, Face.SEMIBOLD, TAPE_SIZES, TAB_WIDTH - 1.5, text_width)
    shapes: list[Shape] = []
    for x, y in (
        (half.x, side),
        (half.right - TAB_WIDTH, side),
        (half.centre.x - TAB_WIDTH / 2, edge),
    ):
        shapes += [
            Rect(
                x=x, y=y, width=TAB_WIDTH, height=TAB, fill=Ink.PAPER, stroke=Ink.INK, line=0.3
            ),
            Text(
                x=x + TAB_WIDTH / 2, y=y + TAB / 2 + 1.1, text=word, size=size or TAPE_SIZES[-1],
                face=Face.SEMIBOLD, anchor=Anchor.MIDDLE,
            ),
        ]  # fmt: skip
    return shapes


def _folding() -> tuple[Message, ...]:
    return (
        say(
            "Lay this page on the other pages of the key, this side up, or print them on its back."
        ),
        say("Fold all together once along the line, so that this side is outside."),
        say("Tape the three open sides, and sign across the tape."),
        say(
            "Give it to somebody who neither pours nor serves nor tastes. If it is opened early, "
            "the result says so, with the reason."
        ),
    )


def _tinted(box: Box, blocks: list[Block]) -> list[Shape]:
    """Blocks on a white panel amid rows of digits."""
    height = height_of(blocks) + 10
    panel = Box(box.x + 14, box.y + (box.height - height) / 2, box.width - 28, height)
    return [
        *rows_of_digits(box),
        Rect(
            x=panel.x, y=panel.y, width=panel.width, height=panel.height, fill=Ink.PAPER,
            stroke=Ink.INK, line=0.3,
        ),
        *placed(blocks, panel.x + 8, panel.y + 5),
    ]  # fmt: skip


def _key(
    order: Order, key: Key, informed: frozenset[int], secret: WrittenSecret | None
) -> list[Drawing]:
    page = order.page()
    box = below_head(page)
    wide = method_named(order.comparison.plan.method).cups_of(order.comparison.plan) > 3

    def made(room: float) -> list[Block]:
        lines = _lines(order, key, informed, secret, min(room, WIDE if wide else NARROW))
        return [*_legend(order, room), *lines]

    large = as_large_as_fits(made, box.width, box.height, ONE_COLUMN)
    if height_of(large) <= box.height:
        return [drawing(page, (*head(order, page, say("Key")), *placed(large, box.x, box.y)))]
    legend = _legend(order, box.width)
    top = height_of(legend)
    columns = 1 if wide else 2
    width = (box.width - GUTTER) / columns if columns > 1 else WIDE

    def places() -> Iterator[tuple[int, Box]]:
        for number in count():
            for column in range(columns):
                x = box.x + column * (width + GUTTER)
                yield number, Box(x, box.y + top, width, box.height - top)

    pages = stack(_lines(order, key, informed, secret, width), places())
    return [
        drawing(page, (*head(order, page, say("Key")), *placed(legend, box.x, box.y), *shapes))
        for _number, shapes in sorted(pages.items())
    ]


def _lines(
    order: Order, key: Key, informed: frozenset[int], secret: WrittenSecret | None, width: float
) -> list[Block]:
    """A line for every tray, and the secret under them."""
    rows = [
        _row(
            tray,
            key[tray.number],
            tray.number in informed,
            true_answer(order.comparison, tray.codes(), key[tray.number], order.speak),
            width,
        )
        for tray in sorted(order.trays, key=lambda tray: tray.number)
    ]
    blocks = _groups(rows)
    if secret is not None:
        blocks += [space(6), secret_block(secret, width, order.speak)]
    return blocks


def _groups(rows: list[Block]) -> list[Block]:
    """A little air after every sixth line, so that the eye keeps its line."""
    grouped: list[Block] = []
    for number, row in enumerate(rows, start=1):
        grouped.append(row)
        if number % 6 == 0:
            grouped.append(space(2.2))
    return grouped


def _legend(order: Order, room: float) -> list[Block]:
    speak = order.speak
    blocks = []
    for beer in order.comparison.beers:
        named = (
            say("%(letter)s is %(name)s, poured as %(cover)s.", letter=beer.letter, name=beer.name,
                cover=beer.cover_name)
            if order.comparison.blinding is Blinding.TRIPLE
            else say("%(letter)s is %(name)s.", letter=beer.letter, name=beer.name)
        )  # fmt: skip
        what = say("the name of beer %(letter)s, in the key", letter=beer.letter)
        blocks.append(words(speak(named), room, Style(Face.SEMIBOLD, 12), what=what))
    explained = key_explained(method_named(order.comparison.plan.method))
    blocks += [space(1), words(speak(explained), room)]
    if order.sitting.information is Information.SPLIT:
        star = say(
            "A star behind the number: this tray’s taster was told. Count those cards apart from "
            "the others."
        )
        blocks += [space(1), words(speak(star), room)]
    return [*blocks, space(4)]


def _row(tray: Tray, order: str, told: bool, answer: str, width: float) -> Block:
    """A tray, without its check letter: here a letter would be taken for a beer's."""
    codes = tray.codes()
    code = code_width("000", SIZE, text_width)
    shapes: list[Shape] = [
        Text(x=8.5, y=4.3, text=str(tray.number), size=SIZE, face=Face.TITLE, anchor=Anchor.END)
    ]
    if told:
        shapes.append(Text(x=9.2, y=4.3, text="*", size=SIZE, face=Face.TITLE))
    x = 14.0
    step = code + 7.0
    for digits, beer in zip(codes, order, strict=True):
        shapes += code_figure(digits, x, 4.3, SIZE, text_width, Anchor.START, Ink.SOFT)
        shapes.append(Text(x=x + code + 1.2, y=4.3, text=beer, size=SIZE, face=Face.SEMIBOLD))
        x += step
    shapes += [
        Text(
            x=width - 6.5, y=4.3, text=answer, size=SIZE, face=Face.BOLD,
            anchor=Anchor.END, room=width - 6.5 - x,
        ),
        tick_box(width - 3.8, 0.9),
        Line(x1=0, y1=ROW, x2=width, y2=ROW),
    ]  # fmt: skip
    return Block(ROW, tuple(shapes))
