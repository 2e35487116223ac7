"""Points, boxes and printers: millimetres from the top left of a page or card, y downwards."""

from dataclasses import dataclass

from panel.core.errors import PanelError
from panel.core.message import Number, say
from panel.core.names import Paper


@dataclass(frozen=True)
class Point:
    """A place on paper."""

    x: float
    y: float


@dataclass(frozen=True)
class Box:
    """A rectangle on paper, from its top left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of its lower edge."""
        return self.y + self.height

    @property
    def centre(self) -> Point:
        """Its middle."""
        return Point(self.x + self.width / 2, self.y + self.height / 2)

    def inset(self, margin: float) -> "Box":
        """The box without a margin on all four sides."""
        return Box(
            self.x + margin, self.y + margin, self.width - 2 * margin, self.height - 2 * margin
        )

    def holds(self, other: "Box", slack: float = 1e-6) -> bool:
        """Whether `other` lies wholly inside."""
        return (
            other.x >= self.x - slack
            and other.y >= self.y - slack
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )

    def meets(self, other: "Box", gap: float = 0.0) -> bool:
        """Whether the two overlap, or come nearer to one another than `gap`."""
        return (
            self.x < other.right + gap
            and other.x < self.right + gap
            and self.y < other.bottom + gap
            and other.y < self.bottom + gap
        )


PAGES: dict[Paper, Box] = {
    Paper.A4: Box(0, 0, 210, 297),
    Paper.LETTER: Box(0, 0, 215.9, 279.4),
}
"""ISO 216 A4, and the letter size of ANSI/ASME Y14.1 (8.5 × 11 inches)."""


def page_box(paper: Paper, landscape: bool = False) -> Box:
    """The whole page, upright or lying."""
    page = PAGES[paper]
    return Box(0, 0, page.height, page.width) if landscape else page


WIDEST_SHIFT = 10.0
WIDEST_STRETCH = 0.025
"""What one printer is off by. "Fit to page" makes A4 5.9 % smaller on Letter paper and Letter 2.7 %
smaller on A4: that is to be switched off, not corrected."""


@dataclass(frozen=True)
class Printer:
    """What one printer needs so that its print comes out true: shift in millimetres (right and
    down), stretch as a factor (right and down, about the page's top left corner)."""

    right: float = 0.0
    down: float = 0.0
    stretch_x: float = 1.0
    stretch_y: float = 1.0

    def __post_init__(self) -> None:
        if max(abs(self.right), abs(self.down)) > WIDEST_SHIFT:
            raise PanelError(
                "printer-shift",
                say(
                    "A printer's shift is at most %(most)s mm. Measure the ruler page again, in "
                    "millimetres from the paper's edge.",
                    most=Number(WIDEST_SHIFT, 0),
                ),
            )
        if max(abs(self.stretch_x - 1), abs(self.stretch_y - 1)) > WIDEST_STRETCH:
            raise PanelError(
                "printer-stretch",
                say(
                    "The print is more than %(most)s in a hundred too small or too large: switch "
                    "off “fit to page” in the print window (actual size, 100%%), then print the "
                    "ruler page again.",
                    most=Number(100 * WIDEST_STRETCH),
                ),
            )


AS_IS = Printer()
"""A printer that prints true."""


def printer_from_ruler(
    across: float, down: float, left: float, top: float, printed_with: Printer = AS_IS
) -> Printer:
    """The correction from what was measured on the ruler page, in millimetres.

    across, down: the measured lengths of the two 100 mm rulers. left, top: the measured distances
    of the rulers' common zero from the paper's left and upper edge; they should be those of ZERO.
    printed_with: the correction that the measured page was printed with.
    """
    for field, length in (("across", across), ("down", down)):
        if abs(length - RULER) > FARTHEST_OFF:
            raise PanelError(
                "ruler-length",
                say("A ruler's length is a number of millimetres near 100."),
                field=field,
            )
    # The printer puts y at o + k·y. Measured are k and o through the old correction; the new one
    # must send x to (x - o) / k.
    stretch_x = printed_with.stretch_x * RULER / across
    stretch_y = printed_with.stretch_y * RULER / down
    return Printer(
        right=printed_with.right + printed_with.stretch_x * ZERO.x - left * stretch_x,
        down=printed_with.down + printed_with.stretch_y * ZERO.y - top * stretch_y,
        stretch_x=stretch_x,
        stretch_y=stretch_y,
    )


FARTHEST_OFF = 10.0
"""Millimetres: a ruler that seems more than that too long or short was measured wrong, in inches or
centimetres; "fit to page" makes it 94 at worst."""
RULER = 100.0
ZERO = Point(30.0, 30.0)
"""Length of the ruler page's rulers, and where both begin, in millimetres."""
