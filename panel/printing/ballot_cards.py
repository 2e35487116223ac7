"""Ballot cards: one for each tray, four or two on a sheet, cut along the marks.

The cards of a pile come in order after cutting: the first card of every sheet's upper left place
makes the first pile, and so on. So a stack of sheets is cut once and the piles are laid on one
another.
"""

from collections.abc import Callable, Mapping, Sequence

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.drawing import Drawing, Group, Shape
from panel.core.how_to_taste import how_to_taste
from panel.core.message import Speak, say
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CardFormat
from panel.core.paper.card_parts import CardLayout
from panel.core.paper.card_picture import (
    CardTray,
    CardWords,
    shared_shapes,
    short_code_width,
    tray_shapes,
)
from panel.core.paper.geometry import AS_IS, Printer
from panel.core.paper.payload import qr_version
from panel.core.questions import Question, Words
from panel.printing.canvas import Progress, write_pdf
from panel.printing.cut_marks import cut_marks
from panel.printing.fonts import text_width
from panel.printing.qr import qr_code


def ballot_cards(
    comparison: Comparison,
    sitting: Sitting,
    trays: Sequence[Tray],
    questions: tuple[Question, ...],
    *,
    format: CardFormat,
    addresses: Mapping[int, str],
    short_codes: Mapping[int, str],
    typed_address: str,
    result_address: str,
    digest: bytes,
    references: tuple[int, ...] = (),
    speak: Speak,
    printer: Printer = AS_IS,
    progress: Progress | None = None,
) -> bytes:
    """The cards of the trays as a PDF, each with its QR code and stub.

    addresses: tray number to what its QR code holds. short_codes: tray number to "ABCD EFGH".
    typed_address: what is typed where no camera works. result_address: where the result will be.
    digest: the seal's 32 bytes. references: positions shown as known (`Method.references`).
    Raises PanelError if the questions do not fit the card, or a text is too long or unprintable.
    """
    cups = len(trays[0].cups) if trays else 0
    layout = card_layout(questions, cups, references, format)
    words = CardWords(
        drink=comparison.drink,
        title=comparison.neutral_title,
        sitting=sitting.name,
        how_to_taste=speak(how_to_taste(comparison.serving)),
        address=typed_address,
        result=result_address,
        digest=digest,
        questions_short=tuple(
            (one.id, speak(one.short)) for one in questions if isinstance(one, Words)
        ),
    )
    widest = max(
        (short_code_width(layout, one, text_width) for one in short_codes.values()), default=0.0
    )
    shared = shared_shapes(layout, words, speak, text_width, widest)
    version = qr_version(addresses[tray.number] for tray in trays)

    def card(tray: Tray) -> tuple[Shape, ...]:
        code = layout.code
        face = CardTray(
            number=card_number(tray.number),
            codes=tray.codes(),
            short_code=short_codes[tray.number],
            matrix=qr_code(addresses[tray.number], version, code.x, code.y, code.width),
        )
        return Group(shapes=shared, repeated=True), *tray_shapes(layout, face, speak, text_width)

    return _sheets(layout, [tray for tray in trays], card, speak, sitting, printer, progress)


def _sheets(
    layout: CardLayout,
    trays: Sequence[Tray],
    card: Callable[[Tray], tuple[Shape, ...]],
    speak: Speak,
    sitting: Sitting,
    printer: Printer,
    progress: Progress | None,
) -> bytes:
    sheet = layout.format.sheet
    count = -(-len(trays) // sheet.count)
    marks = cut_marks(sheet)

    def page(number: int) -> Drawing:
        on_it = [trays[index] for index in range(number, len(trays), count)]
        cards = tuple(
            Group(shapes=card(tray), x=cell.x, y=cell.y)
            for tray, cell in zip(on_it, sheet.cells(), strict=False)
        )
        marked = Group(shapes=marks, repeated=True)
        return Drawing(width=sheet.page.width, height=sheet.page.height, shapes=(*cards, marked))

    return write_pdf(
        (page(number) for number in range(count)),
        count=count,
        title=speak(say("Ballot cards")),
        speak=speak,
        language=sitting.language,
        printer=printer,
        progress=progress,
    )
