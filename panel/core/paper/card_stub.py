"""The stub of a card, which the taster keeps: number, codes, where the result will be, the seal."""

from dataclasses import dataclass

from panel.core.drawing import POINT, Anchor, Face, Group, Ink, Line, Measure, Shape, Text
from panel.core.errors import PanelError
from panel.core.message import Message, Speak, say
from panel.core.paper.card_parts import EDGE, CardLayout
from panel.core.paper.card_words import CardTray, CardWords
from panel.core.paper.code_figure import BAR, code_figure, code_width
from panel.core.paper.geometry import Box
from panel.core.paper.slot import CAPITALS, Fall, Slot, fill
from panel.core.rosette import rosette

ROSETTE = 12.5
"""Millimetres across, where the stub is high enough."""

CLEAR = (5.0, 4.3, 2.6)
"""Millimetres between the last base line and the card's lower edge, the first for which there is
room: the lower cards of a sheet end where the paper does, and few printers reach its edge."""


def stub_shapes(
    layout: CardLayout, words: CardWords, speak: Speak, measure: Measure
) -> tuple[Shape, ...]:
    """The tear line, the seal's figure with its first digits, where the result will be."""
    stub = layout.stub
    across = min(ROSETTE, stub.height - CLEAR[0] - 4.2)
    middle = stub.right - EDGE - ROSETTE / 2
    digits = words.digest.hex()
    seal = speak(say("seal %(digits)s", digits=f"{digits[:4]} {digits[4:8]}"))
    used = _kept_at(layout, words.longest_number, speak, measure).end + 1.2
    after = speak(say("The result, after closing: %(address)s", address=words.result))
    return (
        Line(x1=0, y1=stub.y, x2=stub.right, y2=stub.y, ink=Ink.SOFT, dash=(1.2, 1.2)),
        Group(
            shapes=(rosette(words.digest, across, Ink.SOFT),), x=middle, y=stub.y + 1.4 + across / 2
        ),
        Text(
            x=middle,
            y=stub.y + across + 4.2,
            text=seal,
            size=7.5,
            anchor=Anchor.MIDDLE,
            ink=Ink.SOFT,
        ),
        *_result(layout, after, used, measure),
    )


def _result(layout: CardLayout, said: str, used: float, measure: Measure) -> tuple[Shape, ...]:
    """The address of the result, as far from the paper's edge as there is room below `used`."""
    *better, least = (
        Slot(
            box=Box(EDGE, used, _kept_room(layout), layout.stub.bottom - clear - used),
            what=say("the address of the result"),
            sizes=layout.format.type.fixed,
            lines=2,
            ink=Ink.SOFT,
            fall=Fall.BOTTOM,
        )
        for clear in CLEAR
    )
    for slot in better:
        try:
            return fill(slot, said, measure)
        except PanelError:
            continue
    return fill(least, said, measure)


def kept_shapes(
    layout: CardLayout, words: CardWords, tray: CardTray, speak: Speak, measure: Measure
) -> tuple[Shape, ...]:
    """ "Keep this. Card 17 K" and the codes in serving order, behind it or below."""
    at = _kept_at(layout, words.longest_number, speak, measure)
    keep = speak(_keep(tray.number))
    shapes: list[Shape] = [Text(x=EDGE, y=at.y, text=keep, size=at.size, face=Face.BOLD)]
    x = at.codes_x
    for code in tray.codes:
        shapes += code_figure(code, x, at.codes_y, at.size, measure, Anchor.START)
        x += code_width(code, at.size, measure) + CODE_GAP * at.size * POINT
    return tuple(shapes)


CODE_GAP = 0.75
"""Between the codes on a stub, as a share of the type size."""


@dataclass(frozen=True)
class _KeptAt:
    """Type size, the base line of "Keep this", where the codes begin, where all of it ends."""

    size: float
    y: float
    codes_x: float
    codes_y: float
    end: float


def _keep(number: str) -> Message:
    return say("Keep this. Card %(number)s", number=number)


def _kept_room(layout: CardLayout) -> float:
    return layout.format.width - 2 * EDGE - ROSETTE - 2.5


def _kept_at(layout: CardLayout, longest: str, speak: Speak, measure: Measure) -> _KeptAt:
    """The codes behind "Keep this" if some size lets them, else below; alike on all cards."""
    sizes = layout.format.type.head
    for size in sizes:
        after = EDGE + measure(speak(_keep(longest)), Face.BOLD, size) + 3.0
        wide = layout.cups * (code_width("000", size, measure) + CODE_GAP * size * POINT)
        if after + wide <= EDGE + _kept_room(layout):
            y = layout.stub.y + 2.4 + CAPITALS * size * POINT
            return _KeptAt(size, y, after, y, y + BAR * size * POINT)
    size = sizes[0]
    y = layout.stub.y + 2.4 + CAPITALS * size * POINT
    below = y + 1.22 * size * POINT
    return _KeptAt(size, y, EDGE, below, below + BAR * size * POINT)
