"""Tables on hairlines, and tables to write in: one block a row, so that they break over pages."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from panel.core.drawing import Anchor, Face, Ink, Shape, Text, rule
from panel.core.message import Message
from panel.core.typesetting import Paragraph, Style, largest_size, paragraph
from panel.printing.blocks import Block
from panel.printing.fonts import text_width

GAP = 3.0
HEADING_SIZES = (9.0, 8.0, 7.0)
SIZE = 10.5


@dataclass(frozen=True)
class Column:
    """A column: its heading, its share of the width, how its words stand.

    `line` leaves its cells to be written in. `what` names a text that somebody typed.
    """

    heading: str
    share: float
    anchor: Anchor = Anchor.START
    face: Face = Face.TEXT
    line: bool = False
    what: Message | None = None


def table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    room: float,
    *,
    line_height: float = 5.9,
) -> list[Block]:
    """A row of headings, held to the first row, and the rows; every row on a hairline."""
    top = _headings(columns, room)
    return [top, *(_row(columns, row, room, line_height) for row in rows)]


def _headings(columns: Sequence[Column], room: float) -> Block:
    shapes: list[Shape] = []
    sets = [
        _heading(column, left, width)
        for column, (left, width) in zip(columns, _places(columns, room), strict=True)
    ]
    height = max(one.height for one in sets)
    for one in sets:  # headings of fewer lines stand low, on the rule
        shapes += [_lower(shape, height - one.height) for shape in one.shapes]
    shapes.append(rule(0, room, height + 1.2, Ink.INK))
    return Block(height + 1.2, tuple(shapes), keep=True)


def _heading(column: Column, left: float, width: float) -> Paragraph:
    """A heading over its column, in the largest size in which its longest word fits."""
    longest = max(column.heading.split(), key=len, default="")
    size = largest_size(longest, Face.SEMIBOLD, HEADING_SIZES, width, text_width)
    return paragraph(
        column.heading,
        _anchored(column, left, width),
        0,
        width,
        Style(Face.SEMIBOLD, size or HEADING_SIZES[-1], leading=1.15),
        text_width,
        what=column.what,
        anchor=column.anchor,
    )


def _anchored(column: Column, left: float, width: float) -> float:
    return left + {Anchor.START: 0, Anchor.MIDDLE: width / 2, Anchor.END: width}[column.anchor]


def _lower(shape: Shape, by: float) -> Shape:
    assert isinstance(shape, Text)  # a paragraph is texts only
    return replace(shape, y=shape.y + by)


def _row(columns: Sequence[Column], row: Sequence[str], room: float, height: float) -> Block:
    shapes: list[Shape] = []
    for column, cell, (left, width) in zip(columns, row, _places(columns, room), strict=True):
        if column.line:
            shapes.append(rule(left, left + width, height, Ink.INK))
            continue
        shapes.append(
            Text(
                x=_anchored(column, left, width),
                y=height - 1.7,
                text=cell,
                size=SIZE,
                face=column.face,
                anchor=column.anchor,
                room=width,
                what=column.what,
            )
        )
    if not any(column.line for column in columns):
        shapes.append(rule(0, room, height))
    return Block(height, tuple(shapes))


def _places(columns: Sequence[Column], room: float) -> list[tuple[float, float]]:
    """Left edge and width of each column; shares are of the room without the gaps."""
    whole = sum(column.share for column in columns)
    free = room - GAP * (len(columns) - 1)
    places: list[tuple[float, float]] = []
    left = 0.0
    for column in columns:
        width = column.share / whole * free
        places.append((left, width))
        left += width + GAP
    return places
