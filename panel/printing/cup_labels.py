"""Cup labels: the code as large as the label allows, the tray and the cup's place on it small.

Tray by tray in serving order, as they are needed and as they say nothing of the beers. On bought
sheets there is nothing but labels; on plain paper there are cut marks and a foot.
"""

from panel.core.allocation.check_letter import card_number
from panel.core.allocation.labels import CupLabel, labels_in_print_order
from panel.core.drawing import POINT, Anchor, Drawing, Group, Ink, Shape, Text
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.paper.code_figure import BAR, code_figure, code_width
from panel.core.paper.geometry import Box
from panel.core.paper.slot import CAPITALS
from panel.core.paper.stock import Stock, sheets_needed
from panel.printing.canvas import write_pdf
from panel.printing.cut_marks import cut_marks
from panel.printing.fonts import text_width
from panel.printing.foot import Foot
from panel.printing.sheet import Order

KEEP_IN = 2.0
"""Text stays this far inside a label: sheets are cut and fed with less than perfect care."""

CODE_SIZES = (54, 48, 44, 40, 36, 32, 30, 28, 26, 24, 22, 20, 18)
"""Points; 18 is the least that is read on a cup at arm's length."""

SMALL_SIZES = {True: 9.0, False: 7.0}
"""Points of the tray's number, on labels with room and on low ones."""


def cup_labels(order: Order, stock: Stock, skip: int = 0) -> bytes:
    """The labels of all cups of the order's trays as a PDF on that stock.

    skip: labels already used up on the first sheet. Raises PanelError "skip" if that is more than
    a sheet has, "label-too-small" if 18-point codes do not fit a label.
    """
    labels = labels_in_print_order((tray.number, tray.codes()) for tray in order.trays)
    count = sheets_needed(stock, len(labels), skip)
    size, small = _sizes(stock)
    marks = (Group(shapes=cut_marks(stock), repeated=True),) if stock.plain else ()

    def page(number: int) -> Drawing:
        first = number * stock.count - skip
        shapes = [
            Group(shapes=_label(labels[index], order, stock, size, small), x=cell.x, y=cell.y)
            for index, cell in enumerate(stock.cells(), start=first)
            if 0 <= index < len(labels)
        ]
        return Drawing(width=stock.page.width, height=stock.page.height, shapes=(*shapes, *marks))

    kind = order.speak(say("Cup labels"))
    foot = Foot(
        sitting=order.sitting.name,
        sheet=kind,
        audience=order.speak(say("for pourers: fix on dry cups, below the rim")),
    )
    write = order.write or write_pdf
    return write(
        (page(number) for number in range(count)),
        count=count,
        title=kind,
        speak=order.speak,
        foot=foot if stock.plain else None,
        language=order.sitting.language,
        printer=order.printer,
        progress=order.progress,
    )


def _sizes(stock: Stock) -> tuple[float, float]:
    """The largest sizes of code and tray number that every label of the stock holds."""
    inner = Box(0, 0, stock.width, stock.height).inset(KEEP_IN)
    small = SMALL_SIZES[stock.height > 20]
    under = small * POINT * CAPITALS + 1.2
    for size in CODE_SIZES:
        height = (CAPITALS + BAR) * size * POINT + under
        if height <= inner.height and code_width("000", size, text_width) <= inner.width:
            return size, small
    raise PanelError(
        "label-too-small",
        say("A label of this sheet is too small for an 18-point code. Choose larger labels."),
        field="labels",
    )


def _label(
    label: CupLabel, order: Order, stock: Stock, size: float, small: float
) -> tuple[Shape, ...]:
    """One label, its lines centred about its middle."""
    under = small * POINT * CAPITALS
    block = (CAPITALS + BAR) * size * POINT + 1.2 + under
    spare = (stock.height - block) / 2
    base = spare + CAPITALS * size * POINT
    words = say("tray %(tray)s, cup %(cup)s", tray=card_number(label.number), cup=label.position)
    return (
        *code_figure(label.code, stock.width / 2, base, size, text_width),
        Text(
            x=stock.width / 2,
            y=stock.height - spare,
            text=order.speak(words),
            size=small,
            anchor=Anchor.MIDDLE,
            ink=Ink.SOFT,
            room=stock.width - 2 * KEEP_IN,
            what=say("the line under the code"),
        ),
    )
