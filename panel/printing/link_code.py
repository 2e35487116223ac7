"""The QR code of a link, for a page on which somebody else's phone reads it."""

import qrcode

from panel.core.drawing import Drawing, Matrix, Run

QUIET = 4
"""Modules left white on every side (ISO/IEC 18004)."""
MODULE = 1.0
"""Millimetres of a module; pages scale the drawing as they need."""


def link_code(text: str, title: str = "") -> Drawing:
    """The code of any text at error level M, in the smallest version that holds it."""
    code = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_M, border=0)
    code.add_data(text)
    code.make(fit=True)
    side = len(code.modules)
    whole = MODULE * (side + 2 * QUIET)
    matrix = Matrix(
        x=QUIET * MODULE, y=QUIET * MODULE, size=MODULE * side, side=side, runs=_runs(code.modules)
    )
    return Drawing(width=whole, height=whole, shapes=(matrix,), title=title)


def _runs(rows: list[list[bool]]) -> tuple[Run, ...]:
    runs: list[Run] = []
    for row, cells in enumerate(rows):
        start = 0
        for column in range(1, len(cells) + 1):
            if column == len(cells) or cells[column] != cells[start]:
                if cells[start]:
                    runs.append((start, row, column - start))
                start = column
    return tuple(runs)
