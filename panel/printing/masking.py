"""Rows of digits that a lamp behind the paper cannot be read through, as on pay envelopes."""

from panel.core.drawing import Face, Ink, Shape, Text
from panel.core.paper.geometry import Box
from panel.printing.fonts import text_width

SIZE = 9.0
APART = 1.9
"""Millimetres between rows: so near to one another that they run together."""


def rows_of_digits(box: Box) -> list[Shape]:
    """Rows of digits over the whole box; the same on every sheet."""
    many = int(box.width / text_width("0", Face.BOLD, SIZE))
    state = 1
    rows: list[Shape] = []
    for row in range(int((box.height - 2) / APART)):
        digits = []
        for _digit in range(many):
            state = (state * 75 + 74) % 65537  # a scrambler, not a secret: nothing hangs on it
            digits.append(str(state % 10))
        text = "".join(digits)
        y = box.y + 2.6 + row * APART
        rows.append(Text(x=box.x, y=y, text=text, size=SIZE, face=Face.BOLD, ink=Ink.HAIRLINE))
    return rows
