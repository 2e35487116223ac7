"""One small list of shapes for charts, the rosette, sheets and cards; two writers draw it.

Positions and lengths are millimetres from the top left, y growing downwards; type sizes are
points. A shape bears a role (`Ink`), never a colour: `core.svg` turns roles into classes, so that
a page's style sheet decides, `printing.canvas` into greys that any printer can show. All values
are frozen and hashable; the order of the list is the order of painting.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from panel.core.message import Message

POINT = 25.4 / 72
"""Millimetres in one typographic point."""

HAIR = 0.2
"""Millimetres: the thinnest line that every office printer draws whole."""


class Ink(StrEnum):
    """What a stroke or a fill is for; the writers choose how it looks."""

    INK = "ink"  # text and lines that must be read
    SOFT = "soft"  # second text
    HAIRLINE = "hairline"  # rules between things
    WASH = "wash"  # a quiet ground
    PAPER = "paper"  # the sheet itself, painted over something
    BLUE = "blue"  # observed values and what one can do
    WAX = "wax"  # the seal and cautions, nothing else
    OUTLINE = "outline"  # the drop-out grey of rings to be filled in
    MACHINE = "machine"  # marks for a camera: as black as it gets


class Face(StrEnum):
    """The four faces in use: three weights of the sans that works, and the serif that speaks."""

    TEXT = "text"
    SEMIBOLD = "semibold"
    BOLD = "bold"
    TITLE = "title"


class Anchor(StrEnum):
    """Which end of a line of text its x names; the words are SVG's."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, kw_only=True)
class Line:
    """A straight line; `dash` is lengths of strokes and gaps in millimetres."""

    x1: float
    y1: float
    x2: float
    y2: float
    ink: Ink = Ink.HAIRLINE
    width: float = HAIR
    dash: tuple[float, ...] = ()


Step = tuple[float, ...]
"""A step of a path: (x, y), a straight line there; or (x1, y1, x2, y2, x, y), a cubic curve."""


@dataclass(frozen=True, kw_only=True)
class Path:
    """Lines and curves in one go. The first step is where the pen is put down."""

    steps: tuple[Step, ...]
    closed: bool = False
    stroke: Ink | None = Ink.INK
    fill: Ink | None = None
    width: float = HAIR


@dataclass(frozen=True, kw_only=True)
class Circle:
    """A ring (`stroke`), a disc (`fill`) or both, about (x, y)."""

    x: float
    y: float
    radius: float
    stroke: Ink | None = Ink.INK
    fill: Ink | None = None
    width: float = HAIR


@dataclass(frozen=True, kw_only=True)
class Rect:
    """A rectangle from its top left corner."""

    x: float
    y: float
    width: float
    height: float
    stroke: Ink | None = None
    fill: Ink | None = None
    line: float = HAIR


@dataclass(frozen=True, kw_only=True)
class Text:
    """One line of text, already in the reader's language; y is its base line, `size` in points.

    `tracking` is extra space after each character, in points. `room` is the most it may take, in
    millimetres: the printer refuses a text that needs more, and `what` names it in the refusal
    ("the sitting's name"), so that people know what to shorten.
    """

    x: float
    y: float
    text: str
    size: float
    face: Face = Face.TEXT
    anchor: Anchor = Anchor.START
    ink: Ink = Ink.INK
    tracking: float = 0.0
    room: float | None = None
    what: Message | None = None


Run = tuple[int, int, int]
"""Dark modules side by side: (column, row, how many)."""


@dataclass(frozen=True, kw_only=True)
class Matrix:
    """A square code of `side` modules, drawn as horizontal runs within `size` millimetres."""

    x: float
    y: float
    size: float
    side: int
    runs: tuple[Run, ...]
    ink: Ink = Ink.MACHINE


class Tag(StrEnum):
    """What a group is to somebody who has the page read aloud; the words are PDF's (ISO 32000-1,
    14.8.4)."""

    TITLE = "H1"
    HEADING = "H2"
    SUBHEADING = "H3"
    TEXT = "P"
    FIGURE = "Figure"


@dataclass(frozen=True, kw_only=True)
class Group:
    """Shapes moved to (x, y) and scaled about it.

    `repeated` tells the PDF writer that the very same `shapes` come again (on other cards, on
    other pages): it then stores them once. Pass the same tuple object each time. `tag` says what
    it is where a page is to be read aloud, `said` a figure in words.
    """

    shapes: "tuple[Shape, ...]"
    x: float = 0.0
    y: float = 0.0
    scale: float = 1.0
    repeated: bool = False
    tag: Tag | None = None
    said: str = ""


Shape = Line | Path | Circle | Rect | Text | Matrix | Group


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A picture or a page: its size in millimetres, its shapes, and words for who cannot see it."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str = ""
    description: str = ""


Measure = Callable[[str, Face, float], float]
"""(text, face, size in points) -> width in millimetres. The printer has one: printing.fonts."""


def polyline(
    points: tuple[tuple[float, float], ...], ink: Ink = Ink.INK, width: float = HAIR
) -> Path:
    """An open path of straight lines through the points."""
    return Path(steps=points, stroke=ink, width=width)


def rule(x1: float, x2: float, y: float, ink: Ink = Ink.HAIRLINE, width: float = HAIR) -> Line:
    """A level line."""
    return Line(x1=x1, y1=y, x2=x2, y2=y, ink=ink, width=width)


def scaled(shape: Shape, by: float) -> Shape:
    """A shape `by` times as large about its origin: type, places and lengths; lines stay as thin.

    Other than a group's scale this leaves every shape measurable where it stands.
    """
    match shape:
        case Line():
            x1, y1, x2, y2 = (by * one for one in (shape.x1, shape.y1, shape.x2, shape.y2))
            return replace(shape, x1=x1, y1=y1, x2=x2, y2=y2)
        case Path():
            return replace(shape, steps=tuple(tuple(by * one for one in s) for s in shape.steps))
        case Circle():
            return replace(shape, x=by * shape.x, y=by * shape.y, radius=by * shape.radius)
        case Rect():
            width, height = by * shape.width, by * shape.height
            return replace(shape, x=by * shape.x, y=by * shape.y, width=width, height=height)
        case Matrix():
            return replace(shape, x=by * shape.x, y=by * shape.y, size=by * shape.size)
        case Text():
            room = None if shape.room is None else by * shape.room
            size, tracking = by * shape.size, by * shape.tracking
            return replace(
                shape, x=by * shape.x, y=by * shape.y, size=size, tracking=tracking, room=room
            )
        case Group():
            inner = tuple(scaled(one, by) for one in shape.shapes)
            return replace(shape, shapes=inner, x=by * shape.x, y=by * shape.y)
