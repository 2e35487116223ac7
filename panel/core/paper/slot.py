"""A place kept for a text: a box, and the sizes in which the text may be set in it.

The box is fixed before any text is known, so that the layout of a sheet never depends on its
language; the text then takes the largest size in which it fits, or one nearly as large that saves
a line, or is refused by name.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import Enum

from panel.core.drawing import POINT, Anchor, Face, Ink, Measure, Shape, Text
from panel.core.message import Message
from panel.core.paper.geometry import Box
from panel.core.typesetting import Style, does_not_fit, wrap

CAPITALS = 0.66
"""Height of capitals and digits of the sans, as a share of the type size."""

DEPTH = 0.2
"""How far letters reach below their base line, as a share of the type size."""

NEARLY = 0.9
"""A size this near to the largest is as good, if it saves a line."""


class Fall(Enum):
    """Where lines stand in their box."""

    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"


@dataclass(frozen=True, kw_only=True)
class Slot:
    """A box for a text of at most `lines` lines; `sizes` in points, largest first. `what` names
    the text where it has to be refused."""

    box: Box
    what: Message
    sizes: tuple[float, ...]
    lines: int = 1
    face: Face = Face.TEXT
    ink: Ink = Ink.INK
    anchor: Anchor = Anchor.START
    fall: Fall = Fall.TOP
    leading: float = 1.12
    alike: str = ""  # slots of one name are set in one size: the largest that suits them all

    def moved(self, right: float, down: float) -> "Slot":
        """The same slot elsewhere."""
        box = self.box
        return replace(self, box=Box(box.x + right, box.y + down, box.width, box.height))


def fill(slot: Slot, text: str, measure: Measure) -> tuple[Shape, ...]:
    """The text set in its slot; PanelError "text-does-not-fit" if no size lets it fit."""
    lines, style = _fitted(slot, text, measure)
    return _set(slot, _balanced(text, lines, style, slot.box.width, measure), style)


def fill_all(texts: Iterable[tuple[Slot, str]], measure: Measure) -> tuple[Shape, ...]:
    """Several texts set in their slots, those of slots that are `alike` in one size."""
    pairs = tuple(texts)
    common: dict[str, float] = {}
    for slot, text in pairs:
        if slot.alike:
            size = _fitted(slot, text, measure)[1].size
            common[slot.alike] = min(size, common.get(slot.alike, size))
    shapes: list[Shape] = []
    for slot, text in pairs:
        sizes = (common[slot.alike],) if slot.alike else slot.sizes
        shapes += fill(replace(slot, sizes=sizes), text, measure)
    return tuple(shapes)


def _fitted(slot: Slot, text: str, measure: Measure) -> tuple[tuple[str, ...], Style]:
    """Lines and style: fewer lines where that costs little size, else the largest that fits."""
    shortest = NEARLY * slot.sizes[0]
    trials = [
        *((most, size) for most in _lines(slot) for size in slot.sizes if size >= shortest),
        *((slot.lines, size) for size in slot.sizes),
    ]
    lonely: tuple[tuple[str, ...], Style] | None = None
    for most, size in trials:
        style = Style(slot.face, size, slot.ink, slot.leading)
        lines = wrap(text, style, slot.box.width, measure)
        widest = max((measure(line, slot.face, size) for line in lines), default=0.0)
        low = _height(len(lines), style) <= slot.box.height + 1e-6
        if len(lines) > most or not low or widest > slot.box.width:
            continue
        if len(lines) == 1 or all(len(line) > 1 for line in lines):
            return lines, style
        lonely = lonely or (lines, style)  # a letter on a line of its own, if it has to be
    if lonely is None:
        raise does_not_fit(text, slot.what)
    return lonely


def _lines(slot: Slot) -> range:
    return range(1, slot.lines + 1)


def _balanced(
    text: str, lines: tuple[str, ...], style: Style, room: float, measure: Measure
) -> tuple[str, ...]:
    """The same count of lines, in the narrowest room that still gives it: no last word alone."""
    best = lines
    for share in range(95, 45, -5):
        narrower = wrap(text, style, room * share / 100, measure)
        if len(narrower) > len(lines):
            break
        best = narrower
    return best


def _height(count: int, style: Style) -> float:
    """Millimetres from the top of the first line's capitals to the last base line."""
    return (count - 1) * style.line + CAPITALS * style.size * POINT


def _set(slot: Slot, lines: tuple[str, ...], style: Style) -> tuple[Shape, ...]:
    box, height = slot.box, _height(len(lines), style)
    share = {Fall.TOP: 0.0, Fall.MIDDLE: 0.5, Fall.BOTTOM: 1.0}[slot.fall]
    first = box.y + (box.height - height) * share + CAPITALS * style.size * POINT
    x = box.x + box.width * {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[slot.anchor]
    return tuple(
        Text(
            x=x,
            y=first + number * style.line,
            text=line,
            size=style.size,
            face=slot.face,
            ink=slot.ink,
            anchor=slot.anchor,
            room=box.width,
            what=slot.what,
        )
        for number, line in enumerate(lines)
    )
