"""The project's own cards, printed and rasterised: what every picture of the corpus begins with."""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.names import Smell
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.card_parts import CardLayout
from panel.core.questions import Question, ScalePerCup, When
from panel.core.side_questions import KNEW, SURE, WENT_BY, WORDS, ballot_questions
from panel.printing.ballot_cards import ballot_cards
from panel.printing.sheet import Order
from panel.scanning.reading import CardKnown
from tests.core.paper.test_card import ORDER, SCALE, YES_NO, plan_of
from tests.printing.looking import pictures
from tests.printing.orders import DIGEST, addresses_of, an_order

Picture = NDArray[np.uint8]

DPI = 300
PER_MM = DPI / 25.4
SOFT = 0.5
"""Pixels by which a print is softened before it is made smaller, once for all of its pictures."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """A ballot on a card: its questions, its cups, the card's size."""

    name: str
    questions: tuple[Question, ...]
    cups: int
    references: tuple[int, ...]
    format: str


@dataclass(frozen=True, kw_only=True, eq=False)
class PrintedCard:
    """A card as it came out of the printer: the code's text, what is known of it, its picture with
    and without the stub at PER_MM pixels to a millimetre."""

    text: str
    known: CardKnown
    whole: Picture

    @property
    def picture(self) -> Picture:
        """The part that is handed in."""
        return self.whole[: round(self.known.layout.stays.height * PER_MM)]

    @cached_property
    def soft(self) -> Picture:
        """The part that is handed in, softened."""
        return softened(self.picture)


def softened(picture: Picture) -> Picture:
    """As ink on paper is, and so that a coarser picture can be made of it."""
    return np.asarray(Image.fromarray(picture).filter(ImageFilter.GaussianBlur(SOFT)))


def _of_method(method: str, format: str, what: str = "", **more: object) -> Case:
    known = METHODS[method]
    return Case(
        name=f"{method}{what and ' '}{what} on {format}",
        questions=ballot_questions(known, plan_of(method, **more)),
        cups=known.cups,
        references=known.references,
        format=format,
    )


def layout_of(case: Case) -> CardLayout:
    """PanelError if it does not fit on its card."""
    format = CARD_FORMATS[case.format]
    return card_layout(case.questions, case.cups, case.references, format)


def _fits(case: Case) -> bool:
    try:
        layout_of(case)
    except PanelError:
        return False
    return True


def _shaped(name: str, questions: tuple[Question, ...], format: str) -> Case:
    return Case(
        name=f"{name} on {format}", questions=questions, cups=3, references=(), format=format
    )


FULL = {"ask_went_by": True, "ask_prefer": True, "no_preference": True}
SHORT_SCALE: ScalePerCup = replace(SCALE, when=When.AFTER, points=5)

EVERY_METHOD_CASE = tuple(
    _of_method(method, format) for method in METHODS for format in CARD_FORMATS
)
METHOD_CASES = tuple(case for case in EVERY_METHOD_CASE if _fits(case))
FULL_CASES = tuple(
    case
    for method in METHODS
    for format in ("a5", "half-letter")
    if _fits(case := _of_method(method, format, "in full", **FULL))
)
NOSE_CASES = tuple(
    case
    for method in METHODS
    if METHODS[method].cups < 6
    for format in CARD_FORMATS
    if _fits(case := _of_method(method, format, "nose first", smell=Smell.FIRST, ask_sure=False))
)
SHAPE_CASES = tuple(
    _shaped(name, questions, format)
    for name, questions in (
        ("scale", (KNEW, SCALE, SURE, WORDS)),
        ("yes or no", (KNEW, YES_NO, SURE, WORDS)),
        ("order", (KNEW, ORDER, WENT_BY, WORDS)),
        ("order and scale", (ORDER, SHORT_SCALE)),
    )
    for format in ("a5", "half-letter")
)
LARGE_SHAPES = tuple(
    _shaped(name, questions, format)
    for name, questions in (
        ("yes or no alone", (YES_NO,)),
        ("order alone", (ORDER,)),
        ("short scale alone", (replace(SCALE, points=5),)),
    )
    for format in CARD_FORMATS
)
CASES = {
    case.name: case
    for case in (*METHOD_CASES, *FULL_CASES, *NOSE_CASES, *SHAPE_CASES, *LARGE_SHAPES)
}


def order_of(case: Case, count: int) -> Order:
    """An order for the printer whose trays suit the case."""
    return an_order(count, case.cups)


def known_of(case: Case) -> CardKnown:
    """A card of the case without its print."""
    return _known(case, layout_of(case), order_of(case, 1).trays[0])


def _known(case: Case, layout: CardLayout, tray: Tray) -> CardKnown:
    return CardKnown(
        layout=layout,
        questions=case.questions,
        codes=tray.codes(),
        number=card_number(tray.number),
    )


@lru_cache(maxsize=4)
def printed_pages(case: Case, count: int) -> tuple[Picture, ...]:
    """The sheets of the case's cards, uncut."""
    return tuple(pictures(_pdf(case, order_of(case, count)), DPI))


def _pdf(case: Case, order: Order) -> bytes:
    return ballot_cards(
        order,
        case.questions,
        format=CARD_FORMATS[case.format],
        addresses=addresses_of(order),
        digest=DIGEST,
        references=case.references,
    )


@lru_cache(maxsize=256)
def printed(case: Case, count: int = 2) -> tuple[PrintedCard, ...]:
    """The cards of a case, cut."""
    order = order_of(case, count)
    sheet = CARD_FORMATS[case.format].sheet
    layout = layout_of(case)
    trays = sorted(order.trays, key=lambda tray: tray.number)
    pages = printed_pages(case, count)
    found = []
    for number, page in enumerate(pages):
        for tray, cell in zip(trays[number :: len(pages)], sheet.cells(), strict=False):
            top, left = round(cell.y * PER_MM), round(cell.x * PER_MM)
            bottom, right = round(cell.bottom * PER_MM), round(cell.right * PER_MM)
            known = _known(case, layout, tray)
            text = addresses_of(order).codes[tray.number]
            picture = page[top:bottom, left:right].copy()
            found.append(PrintedCard(text=text, known=known, whole=picture))
    return tuple(found)
