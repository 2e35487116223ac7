"""What the tests of sheets print, and ways to read what came out."""

import hashlib
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pypdfium2 as pdfium

from panel.core.allocation.comparison_draw import draw_comparison, trays_of
from panel.core.allocation.trays import key_of
from panel.core.comparison import Comparison, Key, Seal
from panel.core.drawing import POINT, Anchor, Circle, Drawing, Group, Line, Rect, Shape, Text
from panel.core.methods import METHODS
from panel.core.names import Standing
from panel.core.paper.payload import qr_address, tray_tokens
from panel.core.plan import Plan
from panel.printing.ballot_cards import CardAddresses
from panel.printing.fonts import text_width
from panel.printing.kit import Job, printed_trays
from panel.printing.sheet import Order
from tests.core.invented import NOW, a_comparison, a_sitting

SECRET = bytes(range(32))
SECRET_WORDS = ("kept", "19", "27", "fermentation", "temperature", "Heron", "Avocet")
"""Of the beers' names, values and cover names, and of the variable."""


def plan_of(method: str) -> Plan:
    """A plan that suits the method."""
    known = METHODS[method]
    return Plan(
        method=method,
        aim=known.aims[0],
        sides=known.sides[0],
        tasters=24,
        drinks=known.beers,
        attribute="fruity" if known.directional else "",
        stronger="B" if known.directional else "",
    )


def named_comparison(method: str = "triangle", **changes: Any) -> Comparison:
    """A sealed comparison whose beers have cover names too."""
    known = a_comparison(plan=plan_of(method))
    beers = tuple(
        replace(beer, cover_name=cover)
        for beer, cover in zip(known.beers, ("Heron", "Avocet", "Curlew"), strict=False)
    )
    seal = Seal(digest=hashlib.sha256(b"invented").hexdigest(), made=NOW)
    return replace(known, **{"beers": beers, "seal": seal, "standing": Standing.SEALED, **changes})


def an_order(
    method: str = "triangle",
    comparison: Comparison | None = None,
    spares: int | None = None,
    **sitting: Any,
) -> tuple[Order, Key]:
    """An order for one sitting, and its key."""
    known = replace(
        comparison or named_comparison(method), sittings=(a_sitting(**{"planned": 12, **sitting}),)
    )
    draws = draw_comparison(SECRET, known)
    trays = printed_trays(trays_of(draws[0]), known.sittings[0], spares)
    return Order(comparison=known, sitting=known.sittings[0], trays=tuple(trays)), key_of(draws)


def swapped(order: Order) -> Order:
    """The same evening with the two beers exchanged in everything but their letters."""
    first, second, *others = order.comparison.beers
    exchanged = (replace(second, letter=first.letter), replace(first, letter=second.letter))
    beers = (*exchanged, *others)
    return replace(order, comparison=replace(order.comparison, beers=beers))


def a_job(**sitting: Any) -> Job:
    """Everything a kit is made of."""
    order, key = an_order(**sitting)
    tokens = {tray.number: tray_tokens(b"k" * 32, "c", tray.number, 1) for tray in order.trays}
    cards = CardAddresses(
        codes={
            number: qr_address("http://10.0.0.5:8000", one.token) for number, one in tokens.items()
        },
        short_codes={number: one.shown for number, one in tokens.items()},
        typed="10.0.0.5:8000/card",
        door="http://10.0.0.5:8000/card",
        result="10.0.0.5:8000/k7xq2m4p9rtvw3za",
    )
    result = "10.0.0.5:8000/r/k7xq2m4p"
    return Job(
        order=order, key=key, cards=cards, result_address=result, result_link=f"http://{result}"
    )


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF has, by another program than wrote it."""
    document = pdfium.PdfDocument(pdf)
    try:
        return len(document)
    finally:
        document.close()


def texts_of(pdf: bytes) -> list[str]:
    """All text of each page, white or hidden text too, by another program than wrote it."""
    document = pdfium.PdfDocument(pdf)
    try:
        found = []
        for page in document:
            text_page = page.get_textpage()
            found.append(re.sub(r"\s+", " ", text_page.get_text_range()))
            text_page.close()
            page.close()
        return found
    finally:
        document.close()


def text_of(pdf: bytes) -> str:
    """All text of all pages."""
    return " ".join(texts_of(pdf))


def metadata_of(pdf: bytes) -> dict[str, str]:
    """What the file says of itself, without empty fields."""
    document = pdfium.PdfDocument(pdf)
    try:
        return {name: value for name, value in document.get_metadata_dict().items() if value}
    finally:
        document.close()


def flat(shapes: tuple[Shape, ...], x: float = 0.0, y: float = 0.0) -> Iterator[Shape]:
    """Shapes without their groups, moved to where they stand (groups that scale are left out)."""
    for shape in shapes:
        match shape:
            case Group(scale=1.0):
                yield from flat(shape.shapes, x + shape.x, y + shape.y)
            case Text() | Circle() | Rect():
                yield replace(shape, x=shape.x + x, y=shape.y + y)
            case Line():
                yield replace(
                    shape, x1=shape.x1 + x, x2=shape.x2 + x, y1=shape.y1 + y, y2=shape.y2 + y
                )


def texts(page: Drawing) -> list[Text]:
    """The texts of a page where they stand."""
    return [shape for shape in flat(page.shapes) if isinstance(shape, Text)]


def circles(page: Drawing) -> list[Circle]:
    """The rings of a page where they stand."""
    return [shape for shape in flat(page.shapes) if isinstance(shape, Circle)]


def extent(shape: Shape) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a shape, in millimetres."""
    match shape:
        case Text():
            width = text_width(shape.text, shape.face, shape.size)
            width += shape.tracking * POINT * max(len(shape.text) - 1, 0)
            left = (
                shape.x - width * {Anchor.START: 0, Anchor.MIDDLE: 0.5, Anchor.END: 1}[shape.anchor]
            )
            return left, shape.y - 0.7 * shape.size * POINT, left + width, shape.y
        case Circle():
            reach = shape.radius + shape.width / 2
            return shape.x - reach, shape.y - reach, shape.x + reach, shape.y + reach
        case Rect():
            return shape.x, shape.y, shape.x + shape.width, shape.y + shape.height
        case Line():
            return (
                min(shape.x1, shape.x2),
                min(shape.y1, shape.y2),
                max(shape.x1, shape.x2),
                max(shape.y1, shape.y2),
            )
    raise TypeError(type(shape).__name__)
