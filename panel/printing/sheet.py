"""What every sheet of a sitting shares: its order, its page, its head, and how it becomes a PDF."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.drawing import Anchor, Drawing, Face, Ink, Shape, Text, rule
from panel.core.message import Message, Moment, Number, Share, say
from panel.core.names import Blinding
from panel.core.paper.geometry import AS_IS, Box, Printer, page_box
from panel.core.typesetting import does_not_fit, held, largest_size
from panel.printing.canvas import Progress, Speak, write_pdf
from panel.printing.fonts import text_width
from panel.printing.foot import Foot, inside

HEAD = 21.0
"""Millimetres of the head: title, line of context, rule."""

TITLE_SIZES = (30.0, 26.0, 22.0, 18.0)
"""Points, the largest that fits: a sheet is known across a room by its title."""


@dataclass(frozen=True, kw_only=True)
class Order:
    """What is to be printed for one sitting, and how. `trays` are those printed, without a key.

    speak says messages in the sitting's language; printer corrects where one prints out of true.
    write takes the place of `canvas.write_pdf` where pages go into a file with others.
    """

    comparison: Comparison
    sitting: Sitting
    trays: tuple[Tray, ...]
    speak: Speak = str
    printer: Printer = AS_IS
    progress: Progress | None = None
    write: Callable[..., bytes] | None = None

    @property
    def served_here(self) -> Comparison:
        """The comparison as far as this sitting's tasters meet it, so that what a taster drinks is
        reckoned from their own trays."""
        return replace(self.comparison, sittings=(self.sitting,))

    def page(self, landscape: bool = False) -> Box:
        """A whole page of the sitting's paper."""
        return page_box(self.sitting.paper, landscape)

    def drawn(self, pages: Sequence[Drawing], sheet: Message, audience: Message) -> bytes:
        """The pages as a PDF, with the running foot. Its title is the kind of sheet, no more."""
        kind = self.speak(sheet)
        write = self.write or write_pdf
        return write(
            pages,
            title=kind,
            speak=self.speak,
            foot=Foot(sitting=self.sitting.name, sheet=kind, audience=self.speak(audience)),
            language=self.sitting.language,
            printer=self.printer,
            progress=self.progress,
        )

    def moment(self, utc: datetime) -> str:
        """A date and its time in the sitting's zone, as people read them; never parted by a line's
        end."""
        return held(self.speak(say("%(when)s", when=Moment(utc, self.sitting.zone))))

    def when(self) -> str:
        """Date and time of the sitting."""
        return self.moment(self.sitting.starts)

    def drink(self) -> str:
        """The organiser's word for what is tasted, fit to head a column."""
        word = self.comparison.drink.strip()
        return word[:1].upper() + word[1:]

    def context(self) -> str:
        """The neutral title, the sitting and its date: what the head says under the title."""
        return f"{self.comparison.neutral_title} · {self.sitting.name} · {self.when()}"


def drawing(page: Box, shapes: Sequence[Shape]) -> Drawing:
    """A page of shapes."""
    return Drawing(width=page.width, height=page.height, shapes=tuple(shapes))


def head(order: Order, page: Box, title: Message, aside: float = 0.0) -> tuple[Shape, ...]:
    """Title, context and rule at the top of a page; `aside` millimetres are left free at right."""
    return named_head(order, page, order.speak(title), order.context(), aside)


def named_head(
    order: Order, page: Box, title: str, context: str, aside: float = 0.0
) -> tuple[Shape, ...]:
    """The same with words of one's own under the title."""
    box = inside(page)
    room = box.width - aside
    size = largest_size(title, Face.TITLE, TITLE_SIZES, room, text_width)
    if size is None:
        raise does_not_fit(title, say("the title of the sheet"))
    return (
        Text(x=box.x, y=box.y + 9.5, text=title, size=size, face=Face.TITLE, room=room),
        context_line(order, context, box.x, box.y + 16.5, room),
        rule(box.x, box.right, box.y + HEAD - 1, Ink.INK, 0.3),
    )


def context_line(order: Order, context: str, x: float, y: float, room: float) -> Text:
    """The line under a title; refuses by name the text that makes it too long."""
    size = largest_size(context, Face.TEXT, (11.0, 10.0, 9.0), room, text_width)
    if size is None:
        names = (
            (order.comparison.neutral_title, say("the neutral title, in the head of the sheet")),
            (order.sitting.name, say("the sitting's name, in the head of the sheet")),
        )
        longest, what = max(names, key=lambda name: len(name[0]))
        raise does_not_fit(longest, what)
    return Text(x=x, y=y, text=context, size=size, ink=Ink.SOFT, room=room)


def below_head(page: Box) -> Box:
    """The part of a page between head and foot."""
    box = inside(page)
    return Box(box.x, box.y + HEAD + 3, box.width, box.height - HEAD - 3)


def right_text(x: float, y: float, text: str, size: float, face: Face = Face.TEXT) -> Text:
    """A line that ends at x."""
    return Text(x=x, y=y, text=text, size=size, face=face, anchor=Anchor.END)


def pouring_name(comparison: Comparison, letter: str) -> str:
    """What the pourer calls a drink: its cover name under triple blinding, else its own name."""
    beer = next(beer for beer in comparison.beers if beer.letter == letter)
    return beer.cover_name if comparison.blinding is Blinding.TRIPLE else beer.name


def waves_of(trays: Sequence[Tray]) -> dict[int, tuple[Tray, ...]]:
    """Trays by wave, both in ascending order."""
    waves: dict[int, list[Tray]] = {}
    for tray in sorted(trays, key=lambda tray: tray.number):
        waves.setdefault(tray.wave, []).append(tray)
    return {wave: tuple(waves[wave]) for wave in sorted(waves)}


def numbers(trays: Sequence[Tray]) -> str:
    """The numbers of trays in short: "13–18", "7"."""
    known = sorted(tray.number for tray in trays)
    first, last = known[0], known[-1]
    if known == list(range(first, last + 1)):
        return str(first) if first == last else f"{first}–{last}"
    return ", ".join(map(str, known))


def degrees(temperature: Decimal) -> Number:
    """A temperature with no more decimals than it was given with."""
    return Number(float(temperature), _decimals(temperature))


def share_of(risk: Decimal) -> Share:
    """A risk as a percentage, with no more decimals than it was given with."""
    return Share(float(risk), _decimals(100 * risk))


def _decimals(number: Decimal) -> int:
    exponent = number.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
