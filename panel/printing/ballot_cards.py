"""Ballot cards: one for each tray, four or two on a sheet, cut along the marks.

The cards of a pile come in order after cutting: the first card of every sheet's upper left place
makes the first pile, and so on. So a stack of sheets is cut once and the piles are laid on one
another.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.drawing import Drawing, Group, Shape
from panel.core.how_to_taste import how_to_take
from panel.core.message import say
from panel.core.paper.card import card_layout, steps
from panel.core.paper.card_format import CardFormat
from panel.core.paper.card_picture import shared_shapes, short_code_width, tray_shapes
from panel.core.paper.card_words import CardTray, CardWords
from panel.core.paper.payload import qr_version
from panel.core.questions import Question, Words
from panel.printing.canvas import write_pdf
from panel.printing.cut_marks import cut_marks
from panel.printing.fonts import text_width
from panel.printing.qr import qr_code
from panel.printing.sheet import Order


@dataclass(frozen=True, kw_only=True)
class CardAddresses:
    """Where the cards of a kit lead. `codes`: tray number to what its QR code holds
    (`payload.qr_address`); `short_codes`: tray number to "ABCD EFGH"; `typed`: the address typed
    where no camera works, and `door` the same whole; `result`: where the result will be."""

    codes: Mapping[int, str]
    short_codes: Mapping[int, str]
    typed: str
    door: str
    result: str


def ballot_cards(
    order: Order,
    questions: tuple[Question, ...],
    *,
    format: CardFormat,
    addresses: CardAddresses,
    digest: bytes,
    references: tuple[int, ...] = (),
) -> bytes:
    """The cards of the order's trays as a PDF, each with its QR code and stub.

    digest: the seal's 32 bytes. references: positions shown as known (`Method.references`).
    Raises PanelError if the questions do not fit the card ("card-too-full", "card-too-narrow"), a
    text is too long or unprintable, or an address too long for a code.
    """
    cups = max((len(tray.cups) for tray in order.trays), default=1)
    layout = card_layout(questions, cups, references, format)
    short = (short_code_width(layout, one, text_width) for one in addresses.short_codes.values())
    words = _words(order, questions, addresses, digest)
    shared = shared_shapes(layout, words, order.speak, text_width, max(short, default=0.0))
    version = qr_version(addresses.codes[tray.number] for tray in order.trays)

    def card(tray: Tray) -> tuple[Shape, ...]:
        code = layout.code
        address = addresses.codes[tray.number]
        face = CardTray(
            number=card_number(tray.number),
            codes=tray.codes(),
            short_code=addresses.short_codes[tray.number],
            matrix=qr_code(address, version, code.x, code.y, code.width),
        )
        own = tray_shapes(layout, words, face, order.speak, text_width)
        return Group(shapes=shared, repeated=True), *own

    return _sheets(order, layout.format, card)


def _words(
    order: Order, questions: tuple[Question, ...], addresses: CardAddresses, digest: bytes
) -> CardWords:
    """What is the same on every card. Nothing of it depends on what the sitting is told."""
    plan, serving = order.comparison.plan, order.comparison.serving
    return CardWords(
        drink=order.comparison.drink,
        title=order.comparison.neutral_title,
        sitting=order.sitting.name,
        how=tuple(order.speak(how_to_take(plan, serving, one.when)) for one in steps(questions)),
        address=addresses.typed,
        result=addresses.result,
        digest=digest,
        longest_number=f"{max((tray.number for tray in order.trays), default=1)} W",
        names=tuple(
            (one.id, order.speak(one.short)) for one in questions if isinstance(one, Words)
        ),
    )


def _sheets(order: Order, format: CardFormat, card: Callable[[Tray], tuple[Shape, ...]]) -> bytes:
    """The cards dealt over the sheets so that the cut piles are in order."""
    sheet = format.sheet
    trays = sorted(order.trays, key=lambda tray: tray.number)
    count = -(-len(trays) // sheet.count)
    marks = cut_marks(sheet)

    def page(number: int) -> Drawing:
        on_it = trays[number::count]
        cards = tuple(
            Group(shapes=card(tray), x=cell.x, y=cell.y)
            for tray, cell in zip(on_it, sheet.cells(), strict=False)
        )
        marked = Group(shapes=marks, repeated=True)
        return Drawing(width=sheet.page.width, height=sheet.page.height, shapes=(*cards, marked))

    write = order.write or write_pdf
    return write(
        (page(number) for number in range(count)),
        count=count,
        title=order.speak(say("Ballot cards")),
        speak=order.speak,
        language=order.sitting.language,
        printer=order.printer,
        progress=order.progress,
    )
