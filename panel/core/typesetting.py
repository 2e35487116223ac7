"""Lines of text broken to a measure, and the refusal of what cannot fit. Widths come from outside.

Nothing is ever shrunk or cut in silence: a name that does not fit is sent back to whoever can
shorten it.
"""

from dataclasses import dataclass

from panel.core.drawing import POINT, Anchor, Face, Ink, Measure, Shape, Text
from panel.core.errors import PanelError
from panel.core.message import Message, say


@dataclass(frozen=True)
class Style:
    """How a paragraph is set: face, size in points, ink, and line distance as a share of size."""

    face: Face = Face.TEXT
    size: float = 10.5
    ink: Ink = Ink.INK
    leading: float = 1.25

    @property
    def line(self) -> float:
        """Millimetres from base line to base line."""
        return self.size * self.leading * POINT


def wrap(text: str, style: Style, room: float, measure: Measure) -> tuple[str, ...]:
    """The text broken at spaces into lines no wider than `room` millimetres.

    A single word wider than the room stands on a line of its own; whoever sets it notices.
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer, style.face, style.size) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


@dataclass(frozen=True)
class Paragraph:
    """Set lines and the millimetres they take from the top of the first to the last base line."""

    shapes: tuple[Shape, ...]
    height: float


def paragraph(
    text: str,
    x: float,
    top: float,
    room: float,
    style: Style,
    measure: Measure,
    *,
    what: Message | None = None,
    most: int | None = None,
    anchor: Anchor = Anchor.START,
) -> Paragraph:
    """A text set in lines below `top`, at most `most` of them.

    `height` includes the space under the last base line, so that paragraphs stack. Raises
    PanelError "text-does-not-fit" naming `what` if there are more lines, or a word is too wide.
    """
    lines = wrap(text, style, room, measure)
    widest = max((measure(line, style.face, style.size) for line in lines), default=0.0)
    if (most is not None and len(lines) > most) or widest > room:
        raise does_not_fit(text, what)
    first = top + style.size * 0.75 * POINT + (style.leading - 1) / 2 * style.size * POINT
    shapes = tuple(
        Text(
            x=x,
            y=first + number * style.line,
            text=line,
            size=style.size,
            face=style.face,
            ink=style.ink,
            anchor=anchor,
            room=room,
            what=what,
        )
        for number, line in enumerate(lines)
    )
    return Paragraph(shapes, len(lines) * style.line)


def largest_size(
    text: str, face: Face, sizes: tuple[float, ...], room: float, measure: Measure
) -> float | None:
    """The first of `sizes` (largest first, points) at which the text fits; None if none does."""
    return next((size for size in sizes if measure(text, face, size) <= room), None)


def does_not_fit(text: str, what: Message | None) -> PanelError:
    """The refusal of a text that needs more room than there is, naming it."""
    return PanelError(
        "text-does-not-fit",
        say(
            "There is not enough room on the paper for %(what)s: “%(text)s”. Shorten it, then "
            "print again.",
            what=what or say("this text"),
            text=text,
        ),
    )
