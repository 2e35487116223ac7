"""Lines of text broken to a measure, and the refusal of what cannot fit. Widths come from outside.

Nothing is ever shrunk or cut in silence: a name that does not fit is sent back to whoever can
shorten it.
"""

import re
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


NO_BREAK = "\N{NO-BREAK SPACE}"
"""Holds words together where lines are broken. On the paper it is a space like any other."""

STUB = 0.16
"""A last line shorter than this share of the measure is a word left behind."""

NARROWER = (0.97, 0.94, 0.91, 0.88, 0.85, 0.82, 0.79, 0.76)

_NUMBER_AND_UNIT = re.compile(r"(?<!\S)([(“]?[+−-]?\d+(?:[.,]\d+)?) (?=\S)")
_BETWEEN_WORDS = re.compile(r"[ \t\r\n]+")


def held(text: str) -> str:
    """The text with its spaces made no-break ones: a date and its time, say."""
    return text.replace(" ", NO_BREAK)


def wrap(text: str, style: Style, room: float, measure: Measure) -> tuple[str, ...]:
    """The text broken at spaces into lines no wider than `room` millimetres.

    A number stays with the word after it (its unit, its month), as does what `held` has joined,
    unless both are wider than the room. No word is left alone on the last line where the lines
    above can spare another. A single word wider than the room stands on a line of its own;
    whoever sets it notices.
    """
    words = _words(text, style, room, measure)
    lines = _filled(words, style, room, measure)
    if len(lines) > 1 and measure(lines[-1], style.face, style.size) < STUB * room:
        for share in NARROWER:
            tried = _filled(words, style, share * room, measure)
            if len(tried) != len(lines) or _widest(tried, style, measure) > room:
                break
            if measure(tried[-1], style.face, style.size) >= STUB * room:
                lines = tried
                break
    return tuple(line.replace(NO_BREAK, " ") for line in lines)


def _words(text: str, style: Style, room: float, measure: Measure) -> list[str]:
    """What lines are broken between; parted further where it is wider than the room."""
    joined = _NUMBER_AND_UNIT.sub(rf"\1{NO_BREAK}", text)
    words: list[str] = []
    for word in filter(None, _BETWEEN_WORDS.split(joined)):
        fits = NO_BREAK not in word or measure(word, style.face, style.size) <= room
        words += [word] if fits else word.split(NO_BREAK)
    return words


def _filled(words: list[str], style: Style, room: float, measure: Measure) -> list[str]:
    """Lines, each as full as it can be."""
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer, style.face, style.size) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _widest(lines: list[str], style: Style, measure: Measure) -> float:
    return max(measure(line, style.face, style.size) for line in lines)


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
