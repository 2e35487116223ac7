"""A figure: a drawing and the same numbers as a table beside it; and what all charts share.

Charts are 100 mm wide, so that a type of 9 points can be read on a phone as on a page. Nothing is
told by colour alone: the observed value is a dot or a full bar, chance a dashed line, and each has
its word.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from panel.core.drawing import POINT, Anchor, Drawing, Face, Ink, Line, Rect, Shape, Text
from panel.core.message import Share, Speak, say

WIDTH = 100.0
SIZE = 9.5
"""Points of the type in charts."""

LEFT, RIGHT = 4.0, 96.0
"""Millimetres: where an axis begins and ends."""


@dataclass(frozen=True)
class Figure:
    """A drawing, and its numbers as a table: `columns` are the heads, `rows` text in cells."""

    drawing: Drawing
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def label(
    x: float, y: float, text: str, anchor: Anchor = Anchor.MIDDLE, *, ink: Ink = Ink.SOFT
) -> Text:
    """Small type in a chart."""
    return Text(x=x, y=y, text=text, size=SIZE, anchor=anchor, ink=ink)


def strong(x: float, y: float, text: str, anchor: Anchor = Anchor.MIDDLE) -> Text:
    """The words of the observed value."""
    return Text(x=x, y=y, text=text, size=SIZE + 1.5, face=Face.SEMIBOLD, anchor=anchor)


def cleared(text: Text) -> tuple[Shape, ...]:
    """A text with the paper cleared behind it, so that no line runs through the words.

    The width is a guess, on the safe side: half the type's size for each character.
    """
    width = 0.5 * text.size * POINT * len(text.text) + 1.2
    left = {Anchor.START: 0.6, Anchor.MIDDLE: width / 2, Anchor.END: width - 0.6}[text.anchor]
    height = text.size * POINT
    ground = Rect(
        x=text.x - left, y=text.y - 0.8 * height, width=width, height=height, fill=Ink.PAPER
    )
    return ground, text


def dashed(x1: float, y1: float, x2: float, y2: float) -> Line:
    """The line of chance, of a target, of what was needed."""
    return Line(x1=x1, y1=y1, x2=x2, y2=y2, ink=Ink.INK, width=0.35, dash=(1.1, 0.9))


def at_share(share: float) -> float:
    """The place of a share 0..1 on the level axis."""
    return LEFT + share * (RIGHT - LEFT)


def percent_axis(top: float, bottom: float, speak: Speak) -> Iterable[Shape]:
    """Hairlines and words at 0, 20, … 100 percent."""
    for step in range(0, 101, 20):
        x = at_share(step / 100)
        yield Line(x1=x, y1=top, x2=x, y2=bottom, ink=Ink.HAIRLINE, width=0.25)
        anchor = Anchor.START if step == 0 else Anchor.END if step == 100 else Anchor.MIDDLE
        edge = LEFT - 1.5 if step == 0 else RIGHT + 1.5 if step == 100 else x
        yield label(edge, bottom + 4.6, percent(step / 100, speak), anchor)


def percent(share: float, speak: Speak) -> str:
    """A share as a whole percentage."""
    return speak(say("%(share)s", share=Share(share)))


def beside(x: float, room: float = 30.0) -> tuple[float, Anchor]:
    """Where a word beside an upright line at x stands: to its right, or left where room ends."""
    if x + room < WIDTH:
        return x + 1.2, Anchor.START
    return x - 1.2, Anchor.END
