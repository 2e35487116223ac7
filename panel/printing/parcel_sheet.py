"""What lies in a parcel: one page for each, with its card number and codes, and nothing else.

Codes and cautions come from the blinded side, so that no parcel tells what another one holds.
"""

from itertools import chain, count

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.drawing import Anchor, Drawing, Face, Ink, Shape, Text
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Smell
from panel.core.paper.code_figure import code_figure
from panel.core.paper.geometry import Box
from panel.core.script import cautions, choosing, serves_alcohol, tasting_rules, told
from panel.core.smelling import only_smelled
from panel.printing.blocks import (
    STRONG,
    Block,
    as_large_as_fits,
    bare_heading,
    blanks,
    heading,
    placed,
    points,
    space,
    stack,
    steps,
    words,
)
from panel.printing.fonts import text_width
from panel.printing.rings import CupSize, plain_ring
from panel.printing.sheet import Order, below_head, degrees, drawing, named_head

SHEET = say("In your parcel")
AUDIENCE = say("for the taster: one parcel, one person")

RINGS = 58.0


def parcel_sheets(order: Order) -> bytes:
    """One page for every parcel of a sitting, in the order of the card numbers."""
    return order.drawn(parcel_pages(order), SHEET, AUDIENCE)


def parcel_pages(order: Order) -> list[Drawing]:
    """The pages: rings and codes, then the steps, on a second page if a language needs it."""
    page = order.page()
    box = below_head(page)
    below = Box(box.x, box.y + RINGS + 2, box.width, box.height - RINGS - 2)
    common = as_large_as_fits(lambda room: _common(order, room), box.width, below.height)
    context = f"{order.comparison.neutral_title} · {order.sitting.name}"
    pages: list[Drawing] = []
    for tray in sorted(order.trays, key=lambda tray: tray.number):
        title = order.speak(say("Parcel %(number)s", number=card_number(tray.number)))
        top = named_head(order, page, title, context)
        rings = _places(order, tray, Box(box.x, box.y, box.width, RINGS))
        places = chain([(0, below)], ((number, box) for number in count(1)))
        for number, shapes in sorted(stack(common, places).items()):
            pages.append(drawing(page, (*top, *(rings if number == 0 else ()), *shapes)))
    return pages


def _places(order: Order, tray: Tray, box: Box) -> list[Shape]:
    """Rings to set the glasses on, each over its code."""
    pitch = box.width / len(tray.cups)
    ring = min(CupSize().ring + 4, pitch - 4)
    references = method_named(order.comparison.plan.method).references
    shapes: list[Shape] = []
    for cup in tray.cups:
        x = box.x + (cup.position - 0.5) * pitch
        shapes.append(plain_ring(x, box.y + ring / 2, ring))
        shapes += code_figure(cup.code, x, box.y + ring + 10, 26.0, text_width)
        if cup.position in references:
            said = order.speak(say("reference"))
            shapes.append(
                Text(
                    x=x, y=box.y + ring / 2 + 1.5, text=said, size=11, ink=Ink.SOFT,
                    anchor=Anchor.MIDDLE, face=Face.TEXT,
                )
            )  # fmt: skip
    return shapes


def _common(order: Order, room: float) -> list[Block]:
    """What every parcel of the sitting says."""
    speak = order.speak
    extra = told(order.sitting)
    said = [words(extra, room, STRONG, what=say("what the informed tasters are told")), space(2)]
    return [
        *(said if extra else []),
        bare_heading(speak(say("When it comes")), room),
        *steps([speak(one) for one in _arrival(order)], room),
        heading(speak(_WHEN[only_smelled(order.comparison)]), room),
        *steps([" ".join(map(speak, part)) for part in _tasting(order)], room),
        heading(speak(say("Mind this")), room),
        *points([speak(one) for one in (*cautions(order.served_here), *_keeping(order))], room),
        space(2),
        _dates(order, room),
    ]


_WHEN = {False: say("When you taste"), True: say("When you smell")}


def _dates(order: Order, room: float) -> Block:
    """What is written down on the day, side by side."""
    half = (room - 6) / 2
    came = blanks(order.speak(say("Came on, opened on")), half)
    by = blanks(order.speak(say("Answer before")), half)
    return Block(came.height, (*came.shapes, *placed((by,), half + 6, 0)))


def _arrival(order: Order) -> tuple[Message, ...]:
    serving = order.comparison.serving
    cold = (
        say("Stand it upright and cool for 24 hours, then bring it to %(degrees)s °C.",
            degrees=degrees(serving.temperature))
        if serving.temperature is not None
        else say("Stand it upright and cool for 24 hours.")
    )  # fmt: skip
    return (
        say(
            "Compare the codes on the containers with those above. If one is broken, open, warm or "
            "missing, do not taste: tell the organiser only the number of the parcel."
        ),
        cold,
        say("Do not open anything before the day. If two parcels came to one address, each stays "
            "with one person, and nobody compares."),
    )  # fmt: skip


def _tasting(order: Order) -> tuple[tuple[Message, ...], ...]:
    """The steps, each of one sentence or more."""
    return (
        (
            say(
                "Alone, in a room without smells, an hour after coffee or food. Glasses all alike; "
                "set each on its ring above."
            ),
        ),
        (
            say(
                "Pour each container into the glass on its code, all to the same line of %(ml)s "
                "ml, in one movement, leaving any sediment behind. Better still, somebody who does "
                "not taste pours for you out of your sight.",
                ml=order.comparison.serving.millilitres,
            ),
        ),
        (
            say("Before you smell the first cup, mark on the card what you knew beforehand.")
            if order.comparison.plan.smell is not Smell.WITH_TASTE
            else say("Before the first sip, mark on the card what you knew beforehand."),
        ),
        *choosing(order.comparison),
        tasting_rules(order.comparison),
        (
            say(
                "Answer on the card and send it back in the envelope, or answer by phone with the "
                "code on the card, not both. Talk about it only after the result is published."
            ),
        ),
    )


def _keeping(order: Order) -> tuple[Message, ...]:
    if not serves_alcohol(order.comparison):
        return ()
    return (
        say(
            "Keep it from children. Carry it closed and out of reach in a car. What was sent obeys "
            "the carrier’s rules and the law where you live; if it does not, send it back unopened."
        ),
        say("You take part of your own free will, and may stop at any moment without a reason."),
    )
