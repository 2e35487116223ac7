"""Blocks of text, headings, steps and lines to write on, stacked into columns and pages.

A block knows its height and is drawn at its own origin. `stack` puts blocks under one another
into places (a column, the next column, the next page) and never parts a heading from what follows.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from panel.core.drawing import (
    HAIR,
    POINT,
    Face,
    Group,
    Ink,
    Rect,
    Shape,
    Tag,
    Text,
    rule,
    scaled,
)
from panel.core.errors import PanelError
from panel.core.message import Message
from panel.core.paper.geometry import Box
from panel.core.typesetting import Style, largest_size, paragraph
from panel.printing.fonts import text_width

BODY = Style(Face.TEXT, 10.5)
SMALL = Style(Face.TEXT, 9, leading=1.2)
SOFT = Style(Face.TEXT, 9.5, Ink.SOFT, 1.2)
STRONG = Style(Face.SEMIBOLD, 10.5)
HEADING = Style(Face.TITLE, 14)
ALOUD = Style(Face.TITLE, 12, leading=1.3)
"""What is read aloud, word for word: in the face that speaks."""

LABEL_SIZES = (10.5, 9.5, 8.5, 7.5)

TICK = 3.6
"""Millimetres of a box to be ticked."""


@dataclass(frozen=True)
class Block:
    """Shapes about their own origin, and the height they take; `keep` holds the next to it. `tag`
    and `said` as in `drawing.Group`."""

    height: float
    shapes: tuple[Shape, ...] = ()
    keep: bool = False
    tag: Tag | None = None
    said: str = ""


def space(height: float) -> Block:
    """White space; it vanishes at the top of a column."""
    return Block(height)


def words(text: str, room: float, style: Style = BODY, *, what: Message | None = None) -> Block:
    """A paragraph. `what` names a text that somebody typed, in case it does not fit."""
    set_text = paragraph(text, 0, 0, room, style, text_width, what=what)
    return Block(set_text.height, set_text.shapes)


def heading(text: str, room: float) -> Block:
    """A heading, held to what follows it."""
    set_text = paragraph(text, 0, 2.8, room, HEADING, text_width)
    return Block(set_text.height + 3.8, set_text.shapes, keep=True)


def bare_heading(text: str, room: float) -> Block:
    """A heading at the top of a column: without the space above."""
    set_text = paragraph(text, 0, 0, room, HEADING, text_width)
    return Block(set_text.height + 1.2, set_text.shapes, keep=True)


def steps(texts: Iterable[str], room: float, style: Style = BODY) -> list[Block]:
    """Numbered steps."""
    return [
        _marked(
            Text(x=0, y=0, text=str(number), size=style.size, face=Face.BOLD), text, room, style
        )
        for number, text in enumerate(texts, start=1)
    ]


def points(texts: Iterable[str], room: float, style: Style = BODY) -> list[Block]:
    """Points of a list, each behind a dash."""
    dash = Text(x=0, y=0, text="–", size=style.size, face=style.face, ink=Ink.SOFT)
    return [_marked(dash, text, room, style) for text in texts]


def ticks(texts: Iterable[str], room: float, style: Style = BODY) -> list[Block]:
    """Things to be ticked off."""
    return [_ticked(text, room, style) for text in texts]


def blanks(label: str, room: float) -> Block:
    """A label and a line to write on; a long label is set smaller, to leave a line."""
    size = largest_size(label, BODY.face, LABEL_SIZES, room * 0.7, text_width) or LABEL_SIZES[-1]
    start = text_width(label, BODY.face, size) + 2 if label else 0.0
    return Block(
        9.0,
        (
            Text(x=0, y=6.4, text=label, size=size, room=room),
            rule(start, room, 7.0, Ink.INK),
        ),
    )


def line(room: float, ink: Ink = Ink.HAIRLINE, above: float = 2.0, below: float = 2.0) -> Block:
    """A rule across, with space above and below it."""
    return Block(above + below, (rule(0, room, above, ink),))


def tick_box(x: float, y: float, size: float = TICK) -> Rect:
    """An empty box from its top left."""
    return Rect(x=x, y=y, width=size, height=size, stroke=Ink.INK, line=HAIR * 1.5)


def height_of(blocks: Iterable[Block]) -> float:
    """The height of blocks under one another."""
    return sum(block.height for block in blocks)


LARGER = (1.35, 1.3, 1.25, 1.2, 1.15, 1.1, 1.05)
"""How much larger than usual a sheet with little on it is set, if it still takes one page."""


def enlarged(block: Block, by: float) -> Block:
    """The block `by` times as large."""
    shapes = tuple(scaled(shape, by) for shape in block.shapes)
    return replace(block, height=by * block.height, shapes=shapes)


def as_large_as_fits(
    make: Callable[[float], list[Block]],
    room: float,
    height: float,
    sizes: Sequence[float] = LARGER,
) -> list[Block]:
    """Blocks made for a room, in the largest of `sizes` that stays within `height`; as they are if
    none does. Room for pens and for weak eyes, instead of an empty foot."""
    for by in sizes:
        try:
            blocks = make(room / by)
        except PanelError:
            continue  # a name is too long for that size, not for the sheet
        if by * height_of(blocks) <= height:
            return [enlarged(block, by) for block in blocks]
    return make(room)


def placed(blocks: Iterable[Block], x: float, y: float) -> tuple[Shape, ...]:
    """The blocks under one another from (x, y)."""
    shapes: list[Shape] = []
    for block in blocks:
        if block.shapes:
            shapes.append(Group(shapes=block.shapes, x=x, y=y, tag=block.tag, said=block.said))
        y += block.height
    return tuple(shapes)


def stack(blocks: Sequence[Block], places: Iterator[tuple[int, Box]]) -> dict[int, list[Shape]]:
    """Shapes by page number: the blocks put into places, each a page number and a box.

    A block taller than its place is put there all the same; the writer refuses what leaves a page.
    """
    pages: dict[int, list[Shape]] = {}
    page, box = next(places)
    pages.setdefault(page, [])
    y = box.y
    for number, block in enumerate(blocks):
        if not block.shapes:
            y += block.height if y > box.y else 0.0
            continue
        if y > box.y and y + _held(blocks, number) > box.bottom + 1e-6:
            page, box = next(places)
            pages.setdefault(page, [])
            y = box.y
        pages[page] += placed((block,), box.x, y)
        y += block.height
    return pages


def _held(blocks: Sequence[Block], number: int) -> float:
    """The height of a block with all that is held to it."""
    height = blocks[number].height
    while blocks[number].keep and number + 1 < len(blocks):
        number += 1
        height += blocks[number].height
    return height


def _marked(mark: Text, text: str, room: float, style: Style) -> Block:
    indent = 6.0 if style.size >= BODY.size else 5.0
    set_text = paragraph(text, indent, 0, room - indent, style, text_width)
    first = style.size * (0.75 + (style.leading - 1) / 2) * POINT
    return Block(set_text.height + 1.2, (replace(mark, y=first), *set_text.shapes))


def _ticked(text: str, room: float, style: Style) -> Block:
    set_text = paragraph(text, 6.5, 0, room - 6.5, style, text_width)
    return Block(set_text.height + 1.6, (tick_box(0, 0.7), *set_text.shapes))
