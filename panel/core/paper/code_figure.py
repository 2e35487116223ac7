"""A cup's code as every sheet shows it: wide bold digits, and a bar under each 6 and 9.

The bar stands on the side of the feet, so that a label or cup seen upside down is not misread.
"""

from panel.core.drawing import POINT, Anchor, Face, Ink, Measure, Rect, Shape, Text

TRACKING = 0.05
"""Extra space after each digit, as a share of the type size."""

BARRED = "69"

BAR = 0.17
"""How far the bars reach below the base line, as a share of the type size."""


def code_width(code: str, size: float, measure: Measure) -> float:
    """Millimetres a code takes at a size in points."""
    return measure(code, Face.BOLD, size) + TRACKING * size * POINT * (len(code) - 1)


def code_figure(
    code: str,
    x: float,
    y: float,
    size: float,
    measure: Measure,
    anchor: Anchor = Anchor.MIDDLE,
    ink: Ink = Ink.INK,
) -> tuple[Shape, ...]:
    """The code about x, on base line y: one text and its bars; size in points.

    The bars end `BAR` of the type size below the base line.
    """
    width = code_width(code, size, measure)
    left = x - width * {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[anchor]
    text = Text(
        x=left, y=y, text=code, size=size, face=Face.BOLD, ink=ink, tracking=TRACKING * size
    )
    digit = measure("0", Face.BOLD, size)
    pitch = digit + TRACKING * size * POINT
    bars = tuple(
        Rect(
            x=left + number * pitch + 0.08 * digit,
            y=y + 0.095 * size * POINT,
            width=0.84 * digit,
            height=0.075 * size * POINT,
            fill=ink,
        )
        for number, figure in enumerate(code)
        if figure in BARRED
    )
    return (text, *bars)
