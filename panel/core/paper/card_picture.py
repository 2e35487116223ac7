"""A card as shapes: what all cards of a kit share, and what one tray puts on its own.

The shared part is drawn once for a kit and stored once in the file. Nothing here knows which beer
is in a cup, or whether a sitting is told: all cards of a comparison are alike but for number,
codes and address.
"""

from dataclasses import dataclass

from panel.core.drawing import (
    POINT,
    Anchor,
    Circle,
    Face,
    Group,
    Ink,
    Line,
    Matrix,
    Measure,
    Rect,
    Shape,
    Text,
    rule,
)
from panel.core.message import Message, Speak, say
from panel.core.paper.card_parts import (
    MARK_INSET,
    MARK_RADII,
    RING_LINE,
    CardLayout,
    PlaceKind,
    WordArea,
)
from panel.core.paper.code_figure import code_figure, code_width
from panel.core.paper.geometry import Box, Point
from panel.core.paper.slot import CAPITALS, Fall, Slot, fill, fill_all
from panel.core.rosette import rosette

EDGE = MARK_INSET + 0.5

ROSETTE = 12.5
"""Millimetres across, on the stub."""


@dataclass(frozen=True, kw_only=True)
class CardWords:
    """What stands on every card of a kit besides the questions. Texts in the reader's language.

    `address` is what is typed where no camera works, `result` where the result will be, `digest`
    the seal's SHA-256.
    """

    drink: str
    title: str
    sitting: str
    how_to_taste: str
    address: str
    result: str
    digest: bytes
    questions_short: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, kw_only=True)
class CardTray:
    """What one tray puts on its card: number with check letter, codes in serving order, the short
    code as shown, and the QR code of its address."""

    number: str
    codes: tuple[str, ...]
    short_code: str
    matrix: Matrix


def shared_shapes(
    layout: CardLayout, words: CardWords, speak: Speak, measure: Measure, short_room: float
) -> tuple[Shape, ...]:
    """The shapes that all cards of a kit have in common.

    short_room: millimetres that the widest short code of the kit takes (`short_code_width`).
    Raises PanelError "text-does-not-fit" naming the text that has to be shortened.
    """
    phone, pencil = layout.ways
    return (
        *_corner_marks(layout),
        *_header(layout, words, measure),
        *fill(_narrowed(phone, short_room + 1.2), speak(_no_camera(words)), measure),
        *fill(pencil, speak(HOW_TO_MARK), measure),
        *(rule(EDGE, layout.format.width - EDGE, y) for y in layout.rules),
        *(fill(layout.lead, words.how_to_taste, measure) if layout.lead else ()),
        *fill_all(((slot, speak(text)) for slot, text in layout.texts), measure),
        *_places(layout),
        *(shape for area in layout.words for shape in _words(layout, area, words, measure)),
        *_stub(layout, words, speak, measure),
    )


def tray_shapes(
    layout: CardLayout, tray: CardTray, speak: Speak, measure: Measure
) -> tuple[Shape, ...]:
    """What is printed on one tray's card over the shared shapes."""
    phone = layout.ways[0]
    short = Text(
        x=phone.box.right,
        y=phone.box.bottom,
        text=tray.short_code,
        size=_short_size(layout),
        face=Face.BOLD,
        anchor=Anchor.END,
    )
    codes = (
        shape
        for code in layout.codes
        for shape in code_figure(
            tray.codes[code.position - 1],
            code.box.centre.x,
            code.box.bottom,
            code.size,
            measure,
        )
    )
    return (
        *_number(layout, tray, speak, measure),
        tray.matrix,
        short,
        *codes,
        *_kept(layout, tray, speak, measure),
    )


def short_code_width(layout: CardLayout, shown: str, measure: Measure) -> float:
    """Millimetres a short code takes on this card."""
    return measure(shown, Face.BOLD, _short_size(layout))


HOW_TO_MARK = say("Fill the ring. Changed your mind? Fill the small square beside it.")


def _short_size(layout: CardLayout) -> float:
    return layout.format.type.small[0] + 1


def _no_camera(words: CardWords) -> Message:
    return say("No camera? At %(address)s type", address=words.address)


def _narrowed(slot: Slot, by: float) -> Slot:
    box = slot.box
    return Slot(
        box=Box(box.x, box.y, box.width - by, box.height),
        what=slot.what,
        sizes=(*slot.sizes, slot.sizes[-1] - 0.5),
        fall=Fall.BOTTOM,
    )


def _corner_marks(layout: CardLayout) -> tuple[Shape, ...]:
    inks = (Ink.MACHINE, Ink.PAPER, Ink.MACHINE)
    return tuple(
        Circle(x=mark.x, y=mark.y, radius=radius, stroke=None, fill=ink)
        for mark in layout.marks
        for radius, ink in zip(MARK_RADII, inks, strict=True)
    )


def _header(layout: CardLayout, words: CardWords, measure: Measure) -> tuple[Shape, ...]:
    type, box = layout.format.type, layout.header
    small = type.small[0] * POINT
    under = 2 * small * 1.05
    title = Slot(
        box=Box(box.x, box.y, box.width, box.height - under - 1.5),
        what=say("the comparison's neutral title"),
        sizes=type.title,
        lines=2,
        face=Face.TITLE,
        fall=Fall.MIDDLE,
        leading=1.08,
    )
    sitting = Slot(
        box=Box(box.x, box.bottom - under, box.width, under),
        what=say("the drink and the sitting's name"),
        sizes=type.small,
        lines=2,
        ink=Ink.SOFT,
    )
    return (
        *fill(title, words.title, measure),
        *fill(sitting, f"{words.drink} · {words.sitting}", measure),
    )


def _number(
    layout: CardLayout, tray: CardTray, speak: Speak, measure: Measure
) -> tuple[Shape, ...]:
    """ "Card 17 K" beside the first corner mark."""
    size = layout.format.type.number
    mark = layout.marks[0]
    x = mark.x + MARK_RADII[0] + 3.6
    y = mark.y + CAPITALS * size * POINT / 2
    card = speak(say("Card"))
    after = x + measure(card, Face.SEMIBOLD, size / 2) + 1.8
    return (
        Text(x=x, y=y, text=card, size=size / 2, face=Face.SEMIBOLD, ink=Ink.SOFT),
        Text(x=after, y=y, text=tray.number, size=size, face=Face.BOLD),
    )


def _places(layout: CardLayout) -> tuple[Shape, ...]:
    def shape(kind: PlaceKind, at: Point, radius: float) -> Shape:
        if kind is PlaceKind.MARK:
            return Circle(x=at.x, y=at.y, radius=radius, stroke=Ink.OUTLINE, width=RING_LINE)
        return Rect(
            x=at.x - radius,
            y=at.y - radius,
            width=2 * radius,
            height=2 * radius,
            stroke=Ink.OUTLINE,
            line=RING_LINE,
        )

    return tuple(shape(place.kind, place.centre, place.radius) for place in layout.places)


def _words(
    layout: CardLayout, area: WordArea, words: CardWords, measure: Measure
) -> tuple[Shape, ...]:
    """The question's short name, then lines to write on."""
    type = layout.format.type
    name = dict(words.questions_short).get(area.question, "")
    height = CAPITALS * type.head[0] * POINT
    head = Slot(
        box=Box(area.box.x, area.lines[0] - height, area.start - area.box.x - 1.5, height),
        what=say("a question's name"),
        sizes=(*type.head, *type.small),
        face=Face.BOLD,
    )
    starts = (area.start, *(area.box.x for _ in area.lines[1:]))
    rules = (rule(start, area.box.right, y) for start, y in zip(starts, area.lines, strict=True))
    return (*fill(head, name, measure), *rules)


# --- the stub -----------------------------------------------------------------------------------


def _stub(
    layout: CardLayout, words: CardWords, speak: Speak, measure: Measure
) -> tuple[Shape, ...]:
    """The tear line, the seal's figure with its first digits, where the result will be."""
    stub, small = layout.stub, layout.format.type.small
    middle = stub.right - EDGE - ROSETTE / 2
    digits = words.digest.hex()
    seal = speak(say("seal %(digits)s", digits=f"{digits[:4]} {digits[4:8]}"))
    result = Slot(
        box=Box(EDGE, stub.bottom - 8.4, middle - ROSETTE / 2 - 3 - EDGE, 5.4),
        what=say("the address of the result"),
        sizes=(*small, small[-1] - 0.5),
        lines=2,
        ink=Ink.SOFT,
        fall=Fall.BOTTOM,
    )
    return (
        Line(x1=0, y1=stub.y, x2=stub.right, y2=stub.y, ink=Ink.SOFT, width=0.2, dash=(1.2, 1.2)),
        Group(
            shapes=(rosette(words.digest, ROSETTE, Ink.SOFT),), x=middle, y=stub.y + 2 + ROSETTE / 2
        ),
        Text(
            x=middle,
            y=stub.y + ROSETTE + 4.9,
            text=seal,
            size=7.5,
            anchor=Anchor.MIDDLE,
            ink=Ink.SOFT,
        ),
        *fill(
            result,
            speak(say("The result, after closing: %(address)s", address=words.result)),
            measure,
        ),
    )


def _kept(layout: CardLayout, tray: CardTray, speak: Speak, measure: Measure) -> tuple[Shape, ...]:
    """ "Keep this: card 17 K" and the codes in serving order."""
    stub, type = layout.stub, layout.format.type
    size = type.head[0]
    y = stub.y + 2.8 + CAPITALS * size * POINT
    keep = speak(say("Keep this. Card %(number)s", number=tray.number))
    shapes: list[Shape] = [Text(x=EDGE, y=y, text=keep, size=size, face=Face.BOLD)]
    x, y = EDGE, y + 1.35 * size * POINT
    for code in tray.codes:
        shapes += code_figure(code, x, y, size, measure, Anchor.START)
        x += code_width(code, size, measure) + 0.9 * size * POINT
    return tuple(shapes)
