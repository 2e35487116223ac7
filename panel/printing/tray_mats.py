"""Tray mats: a place for each cup in serving order, and one for the card; two mats on a page.

All places look alike, and nothing on a mat depends on what a cup holds.
"""

import math

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.drawing import Anchor, Drawing, Face, Ink, Line, Rect, Shape, Text, polyline, rule
from panel.core.errors import PanelError
from panel.core.message import Number, say
from panel.core.methods import method_named
from panel.core.names import Smell
from panel.core.paper.code_figure import code_figure
from panel.core.paper.geometry import Box
from panel.printing.fonts import text_width
from panel.printing.foot import FOOT, MARGIN
from panel.printing.rings import CupSize, plain_ring
from panel.printing.sheet import Order, drawing

SHEET = say("Tray mats")
AUDIENCE = say("for the trays: cut along the middle")

CODE_SIZE = 30.0
CARD_HEIGHT = 26.0
ROOMY = 14.0
"""Millimetres that a place is wider than its cup where there is room: easy to set down on."""
LOWEST_STEP = 14.0
"""Millimetres by which every second cup may stand lower, where a row of them is too long."""


def tray_mats(order: Order, cup: CupSize | None = None) -> bytes:
    """The mats of all trays, in the order of their numbers."""
    return order.drawn(tray_mat_pages(order, cup), SHEET, AUDIENCE)


def tray_mat_pages(order: Order, cup: CupSize | None = None) -> list[Drawing]:
    """The pages. PanelError "cups-too-large" where the cups do not fit beside one another."""
    size = cup or CupSize()
    page = order.page()
    half = (page.height - FOOT) / 2
    trays = sorted(order.trays, key=lambda tray: tray.number)
    pages: list[Drawing] = []
    for start in range(0, len(trays), 2):
        shapes: list[Shape] = []
        for place, tray in enumerate(trays[start : start + 2]):
            top = MARGIN if place == 0 else half + 7
            height = half - MARGIN - 7
            box = Box(MARGIN, top, page.width - 2 * MARGIN, height)
            shapes += _mat(order, tray, box, size)
        shapes.append(Line(x1=0, y1=half, x2=page.width, y2=half, ink=Ink.SOFT, dash=(2, 2)))
        pages.append(drawing(page, shapes))
    return pages


def _mat(order: Order, tray: Tray, box: Box, cup: CupSize) -> list[Shape]:
    pitch = box.width / len(tray.cups)
    ring = max(cup.ring, min(cup.rim + ROOMY, pitch - 6))
    step = _step(pitch, max(ring, cup.rim) + 0.5)
    if step > LOWEST_STEP:
        raise PanelError(
            "cups-too-large",
            say(
                "%(cups)s cups of %(rim)s mm do not fit beside one another on a tray mat of this "
                "paper. Use narrower cups.",
                cups=len(tray.cups),
                rim=Number(max(ring, cup.rim), 0),
            ),
            field="rim",
        )
    middle = box.y + 13 + max(ring, cup.rim) / 2
    references = method_named(order.comparison.plan.method).references
    speak = order.speak
    shapes: list[Shape] = [*_arrow(box), *_along(order, box)]
    for cup_on_tray in tray.cups:
        x = box.x + (cup_on_tray.position - 0.5) * pitch
        y = middle + (0.0 if cup_on_tray.position % 2 else step)
        under = y + max(ring, cup.rim) / 2
        shapes.append(plain_ring(x, y, ring))
        shapes += code_figure(cup_on_tray.code, x, under + 11, CODE_SIZE, text_width)
        if cup_on_tray.position in references:
            shapes.append(
                Text(x=x, y=under + 18, text=speak(say("reference")), size=12, anchor=Anchor.MIDDLE)
            )
    return [*shapes, *_card(order, tray, box)]


def _step(pitch: float, apart: float) -> float:
    """How much lower every second cup stands, so that neighbours keep that far apart."""
    return 0.0 if pitch >= apart else math.sqrt(apart**2 - pitch**2)


def _along(order: Order, box: Box) -> list[Shape]:
    smelled = order.comparison.plan.smell is Smell.ONLY
    said = order.speak(
        say("smell from left to right") if smelled else say("taste from left to right")
    )
    return [Text(x=box.x, y=box.y + 4, text=said, size=15, face=Face.SEMIBOLD)]


def _arrow(box: Box) -> list[Shape]:
    """Along all cups, its head at the right: it leads the hand."""
    y, tip = box.y + 7.6, box.right
    head = ((tip - 5, y - 2.2), (tip, y), (tip - 5, y + 2.2))
    return [rule(box.x, tip - 0.4, y, Ink.INK, 0.5), polyline(head, width=0.5)]


def _card(order: Order, tray: Tray, box: Box) -> list[Shape]:
    """Where the card lies: its number, and the sitting."""
    top = box.bottom - CARD_HEIGHT
    named = order.speak(say("Card %(number)s here", number=card_number(tray.number)))
    title = order.comparison.neutral_title
    return [
        Rect(
            x=box.x, y=top, width=box.width, height=CARD_HEIGHT, stroke=Ink.HAIRLINE, line=0.3
        ),
        Text(x=box.x + 6, y=top + 15.5, text=named, size=26, face=Face.TITLE),
        Text(
            x=box.right - 6, y=top + 15.5, text=title, size=12, ink=Ink.SOFT, anchor=Anchor.END,
            room=box.width / 2, what=say("the neutral title, on the tray mats"),
        ),
    ]  # fmt: skip
