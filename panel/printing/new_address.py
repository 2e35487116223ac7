"""When the address changed after the cards were printed: a notice, and a slip for every card.

The cards stay good: their tokens and typed codes are the same, only what their square codes lead
to is out of date. The notice gives the new address to type; a slip has the card's code anew.
"""

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.drawing import POINT, Drawing, Face, Group, Ink, Line, Shape, Text, rule
from panel.core.message import say
from panel.core.paper.geometry import Box
from panel.core.paper.payload import qr_version
from panel.core.typesetting import Style, does_not_fit, largest_size, paragraph
from panel.printing.ballot_cards import CardAddresses
from panel.printing.blocks import BODY, placed, steps, words
from panel.printing.fonts import text_width
from panel.printing.link_code import link_code
from panel.printing.qr import qr_code
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("New address")
AUDIENCE = say("for the wall, and a slip for each tray")

LEAD = Style(Face.TITLE, 22, leading=1.25)
ADDRESS_SIZES = (48.0, 40.0, 34.0, 28.0, 24.0, 20.0, 17.0, 14.0, 12.0)
CODE = 62.0
"""Millimetres of the notice's code: read from a few steps away."""

COLUMNS = 3
SLIP_HEIGHT = 32.0
SLIP_CODE = 22.0
"""Millimetres of a slip's code: 25 or 29 modules, so 0.75 mm or more each."""
AIR = 4.5
SLIP_ADDRESS_SIZES = (8.5, 7.5, 6.5)


def new_address(order: Order, addresses: CardAddresses) -> bytes:
    """The notice and the slips, with the address of this moment.

    Raises PanelError where the address is too long for the sheet or for a code.
    """
    return order.drawn(new_address_pages(order, addresses), SHEET, AUDIENCE)


def new_address_pages(order: Order, addresses: CardAddresses) -> list[Drawing]:
    """Its pages: the notice first."""
    return [_notice(order, addresses), *_slips(order, addresses)]


def _notice(order: Order, addresses: CardAddresses) -> Drawing:
    address = addresses.typed
    page = order.page()
    box = below_head(page)
    size = largest_size(address, Face.BOLD, ADDRESS_SIZES, box.width, text_width)
    if size is None:
        raise does_not_fit(address, say("the address that is typed"))
    speak = order.speak
    lead = paragraph(
        speak(say("The address on the cards is out of date. Your card is good.")),
        box.x, box.y + 4, box.width, LEAD, text_width,
    )  # fmt: skip
    top = box.y + 4 + lead.height + 10
    line = top + size * POINT
    code = link_code(addresses.door)
    ground = line + 14
    how = steps(
        (
            speak(say("Point your phone’s camera at this code, or type the address above.")),
            speak(say("Type the eight characters that stand under the square code of your card.")),
            speak(say("No phone, no wifi? Fill in the card with a pencil. It counts the same.")),
        ),
        box.width - CODE - 8,
        Style(Face.TEXT, 14, leading=1.3),
    )
    return drawing(
        page,
        [
            *head(order, page, SHEET),
            *lead.shapes,
            Text(x=box.x, y=line, text=address, size=size, face=Face.BOLD, room=box.width),
            rule(box.x, box.right, line + 6, Ink.INK, 0.3),
            Group(shapes=code.shapes, x=box.x, y=ground, scale=CODE / code.width),
            *placed(how, box.x + CODE + 8, ground + 4),
        ],
    )


def _slips(order: Order, addresses: CardAddresses) -> list[Drawing]:
    page = order.page()
    box = below_head(page)
    how = words(
        order.speak(
            say(
                "Cut apart and lay one beside each card. Do not stick them over the card’s own "
                "code: the reading of photographed cards needs that one."
            )
        ),
        box.width,
        BODY,
    )
    top = box.y + how.height + AIR
    rows = int((box.bottom - top) / SLIP_HEIGHT)
    trays = sorted(order.trays, key=lambda tray: tray.number)
    version = qr_version(addresses.codes[tray.number] for tray in trays)
    pages = []
    for first in range(0, len(trays), rows * COLUMNS):
        on_it = trays[first : first + rows * COLUMNS]
        used = -(-len(on_it) // COLUMNS)
        shapes: list[Shape] = [*head(order, page, SHEET), *placed((how,), box.x, box.y)]
        shapes += _cuts(Box(box.x, top, box.width, used * SLIP_HEIGHT), used)
        for place, tray in enumerate(on_it):
            row, column = divmod(place, COLUMNS)
            width = box.width / COLUMNS
            slip = Box(box.x + column * width, top + row * SLIP_HEIGHT, width, SLIP_HEIGHT)
            shapes += _slip(tray, addresses, version, slip)
        pages.append(drawing(page, shapes))
    return pages


def _slip(tray: Tray, addresses: CardAddresses, version: int, box: Box) -> list[Shape]:
    address = addresses.codes[tray.number]
    code_y = box.y + (box.height - SLIP_CODE) / 2
    x = box.x + AIR + SLIP_CODE + AIR
    room = box.right - AIR / 2 - x
    typed = addresses.typed
    size = largest_size(typed, Face.TEXT, SLIP_ADDRESS_SIZES, room, text_width)
    shapes: list[Shape] = [
        qr_code(address, version, box.x + AIR, code_y, SLIP_CODE),
        Text(x=x, y=code_y + 7, text=card_number(tray.number), size=20, face=Face.TITLE),
        Text(
            x=x, y=code_y + 14.5, text=addresses.short_codes[tray.number], size=11,
            face=Face.BOLD, room=room,
        ),
    ]  # fmt: skip
    if size is not None:  # a longer one stands on the notice; the square code has it anyway
        shapes.append(Text(x=x, y=code_y + SLIP_CODE - 1, text=typed, size=size, ink=Ink.SOFT))
    return shapes


def _cuts(box: Box, rows: int) -> list[Shape]:
    across = [box.y + row * SLIP_HEIGHT for row in range(rows + 1)]
    down = [box.x + column * box.width / COLUMNS for column in range(1, COLUMNS)]
    return [
        *(Line(x1=box.x, y1=y, x2=box.right, y2=y, ink=Ink.SOFT, dash=(1.2, 1.2)) for y in across),
        *(Line(x1=x, y1=box.y, x2=x, y2=box.bottom, ink=Ink.SOFT, dash=(1.2, 1.2)) for x in down),
    ]
