"""A card as shapes: what all cards of a kit share, and what one tray puts on its own.

The shared part is drawn once for a kit and stored once in the file. Nothing here knows which beer
is in a cup, or whether a sitting is told: all cards of a comparison are alike but for number,
codes and address.
"""

from panel.core.drawing import (
    POINT,
    Anchor,
    Circle,
    Face,
    Ink,
    Measure,
    Rect,
    Shape,
    Text,
    rule,
)
from panel.core.message import Message, Speak, say
from panel.core.paper.card_parts import (
    EDGE,
    MARK_RADII,
    RING_LINE,
    CardLayout,
    PlaceKind,
    WordArea,
)
from panel.core.paper.card_stub import kept_shapes, stub_shapes
from panel.core.paper.card_words import CardTray, CardWords
from panel.core.paper.code_figure import code_figure
from panel.core.paper.geometry import Box, Point
from panel.core.paper.slot import CAPITALS, Fall, Slot, fill, fill_all


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
        *fill(pencil, speak(_how_to_mark(layout)), measure),
        *(rule(EDGE, layout.format.width - EDGE, y) for y in layout.rules),
        *(
            shape
            for slot, how in zip(layout.leads, words.how, strict=True)
            for shape in fill(slot, how, measure)
        ),
        *fill_all(((slot, speak(text)) for slot, text in layout.texts), measure),
        *_places(layout),
        *(shape for area in layout.words for shape in _words(layout, area, words, measure)),
        *stub_shapes(layout, words, speak, measure),
    )


def tray_shapes(
    layout: CardLayout, words: CardWords, tray: CardTray, speak: Speak, measure: Measure
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
        *kept_shapes(layout, words, tray, speak, measure),
    )


def short_code_width(layout: CardLayout, shown: str, measure: Measure) -> float:
    """Millimetres a short code takes on this card."""
    return measure(shown, Face.BOLD, _short_size(layout))


HOW_TO_MARK = say("Fill the ring. Changed your mind? Fill the small square beside it.")
HOW_TO_ORDER = say("Fill one ring in each row. Changed your mind? Cross the wrong ring out.")


def _how_to_mark(layout: CardLayout) -> Message:
    squares = any(place.kind is PlaceKind.TAKE_BACK for place in layout.places)
    return HOW_TO_MARK if squares else HOW_TO_ORDER


def _short_size(layout: CardLayout) -> float:
    return layout.format.type.small[0] + 1


def _no_camera(words: CardWords) -> Message:
    return say("No camera? At %(address)s type", address=words.address)


def _narrowed(slot: Slot, by: float) -> Slot:
    box = slot.box
    return Slot(
        box=Box(box.x, box.y, box.width - by, box.height),
        what=slot.what,
        sizes=slot.sizes,
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
    name = dict(words.names).get(area.question, "")
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
