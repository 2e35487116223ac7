"""Where to cut a plain sheet: short strokes at the corners of the cells, outside what is kept."""

from panel.core.drawing import Ink, Line, Shape
from panel.core.paper.stock import Stock

LENGTH = 3.0


def cut_marks(stock: Stock) -> tuple[Shape, ...]:
    """A cross of short strokes wherever cells' edges meet, cut off at the page's edges."""
    page = stock.page
    across = sorted({x for cell in stock.cells() for x in (cell.x, cell.right)})
    down = sorted({y for cell in stock.cells() for y in (cell.y, cell.bottom)})
    strokes: list[Shape] = []
    for x in across:
        for y in down:
            if 0 < y < page.height:
                left, right = max(x - LENGTH, 0.0), min(x + LENGTH, page.width)
                strokes.append(_stroke(left, y, right, y))
            if 0 < x < page.width:
                top, bottom = max(y - LENGTH, 0.0), min(y + LENGTH, page.height)
                strokes.append(_stroke(x, top, x, bottom))
    return tuple(strokes)


def _stroke(x1: float, y1: float, x2: float, y2: float) -> Line:
    return Line(x1=x1, y1=y1, x2=x2, y2=y2, ink=Ink.SOFT, width=0.15)
