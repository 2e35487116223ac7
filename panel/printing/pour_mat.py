"""Pour mats: a place for every cup of a wave, so that nobody looks a code up while pouring.

One pass with one jug fills every heavy ring, one with the other every double ring. The beer that
goes first changes from wave to wave, so that neither is always the colder one. For the pourer
alone: this sheet shows which cup is which.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from panel.core.comparison import Comparison, Key, Tray
from panel.core.drawing import Anchor, Drawing, Face, Shape, Text, rule
from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.core.methods import method_named
from panel.core.names import SittingKind
from panel.core.paper.code_figure import code_figure
from panel.core.paper.geometry import Box
from panel.core.quantities import POUR_TO_SERVE_LIMIT_SECONDS
from panel.core.typesetting import largest_size
from panel.printing.blocks import SMALL, blanks, placed, words
from panel.printing.fonts import text_width
from panel.printing.foot import inside
from panel.printing.rings import CupSize, jug_ring
from panel.printing.sheet import (
    HEAD,
    Order,
    degrees,
    drawing,
    named_head,
    numbers,
    pouring_name,
    waves_of,
)

SHEET = say("Pour mats")
AUDIENCE = say("for the pourer alone: keep out of sight")

CODE_SIZE = 23.0
CODE_ROOM = 8.6
"""Millimetres under a ring for its code, which stays in view while the cup stands there."""
NUMBER_ROOM = 11.0
NUMBER_SIZES = (20.0, 18.0, 16.0, 14.0, 12.0)
BETWEEN = 5.0
SIGNED_ROOM = 8.0
LEGEND = 112.0
"""Millimetres at the right of the head for what the rings mean."""
FEW, IN_HEAD = 2, 3
FEW_ROW, MIDDLE_ROW, MANY_ROW, MANY_RING = 9.8, 6.9, 7.4, 6.2
"""Of the legend, in millimetres: rows of two jugs, of three, and of more below the head; a ring."""
FIRST_SIZES = (15.0, 14.0, 13.0, 12.0, 11.0, 10.0)
THEN_SIZES = (13.0, 12.0, 11.0, 10.0)


@dataclass(frozen=True)
class Grid:
    """How trays lie on a mat: trays beside one another, rows, where the first begins, and the
    pitches, in millimetres."""

    across: int
    rows: int
    indent: float
    cup_pitch: float
    tray_pitch: float
    row_pitch: float

    @property
    def trays(self) -> int:
        """Trays on one page."""
        return self.across * self.rows


def pour_mats(order: Order, key: Key, cup: CupSize | None = None) -> bytes:
    """The mats of all waves of a sitting, one page each, more where cups are large."""
    return order.drawn(pour_mat_pages(order, key, cup), SHEET, AUDIENCE)


def pour_mat_pages(order: Order, key: Key, cup: CupSize | None = None) -> list[Drawing]:
    """The pages. PanelError "cups-too-large" where a tray's cups do not fit beside one another."""
    size = cup or CupSize()
    page = order.page(landscape=True)
    how = words(order.speak(_how(order)), inside(page).width, SMALL)
    area = mat_area(page, how.height + _more_legend(order))
    plan = order.comparison.plan
    grid = grid_of(area, size, method_named(plan.method).cups_of(plan))
    pages: list[Drawing] = []
    for wave, trays in waves_of(order.trays).items():
        parts = [trays[start : start + grid.trays] for start in range(0, len(trays), grid.trays)]
        for part, on_page in enumerate(parts, start=1):
            title = _title(wave, trays[0].spare, part, len(parts))
            jugs = jugs_of(order.comparison, wave)
            shapes = [
                *_head(order, page, title, on_page, jugs),
                *placed((how,), area.x, inside(page).y + HEAD + _more_legend(order) + 0.4),
                *_cups(on_page, key, jugs, grid, area, size),
                *_signed(order, page),
            ]
            pages.append(drawing(page, shapes))
    return pages


def jugs_of(comparison: Comparison, wave: int) -> dict[str, int]:
    """Which jug each beer is in this wave: the first one in turn goes first."""
    letters = [beer.letter for beer in comparison.beers]
    turn = (wave - 1) % len(letters)
    return {letter: jug for jug, letter in enumerate(letters[turn:] + letters[:turn], start=1)}


def mat_area(page: Box, how: float) -> Box:
    """Where the cups stand: below the head and `how` millimetres of instruction."""
    box = inside(page)
    top = HEAD + how + 1.4
    return Box(box.x, box.y + top, box.width, box.height - top - SIGNED_ROOM)


def grid_of(area: Box, cup: CupSize, cups: int) -> Grid:
    """As many trays as fit, spread evenly over the area."""
    tray = NUMBER_ROOM + cups * cup.pitch
    row = max(cup.ring, cup.rim) + CODE_ROOM
    across = int((area.width + BETWEEN) / (tray + BETWEEN) + 1e-6)
    rows = int(area.height / row + 1e-6)
    if not across or not rows:
        raise PanelError(
            "cups-too-large",
            say(
                "%(cups)s cups of %(rim)s mm do not fit beside one another on a mat of this "
                "paper. Use narrower cups.",
                cups=cups,
                rim=Number(cup.rim, 0),
            ),
            field="rim",
        )
    spread = (area.width - across * tray - (across - 1) * BETWEEN) / (across * cups)
    cup_pitch = cup.pitch + min(spread, 12.0)
    width = NUMBER_ROOM + cups * cup_pitch
    if across == 1:
        indent = (area.width - width) / 2
        return Grid(across, rows, indent, cup_pitch, width, area.height / rows)
    tray_pitch = (area.width - width) / (across - 1)
    return Grid(across, rows, 0.0, cup_pitch, tray_pitch, area.height / rows)


def _title(wave: int, spare: bool, part: int, parts: int) -> Message:
    named = (
        say("Pour mat, spare trays (wave %(wave)s)", wave=wave)
        if spare
        else say("Pour mat, wave %(wave)s", wave=wave)
    )
    if parts == 1:
        return named
    return say("%(mat)s · %(part)s of %(parts)s", mat=named, part=part, parts=parts)


def _head(
    order: Order, page: Box, title: Message, trays: Sequence[Tray], jugs: dict[str, int]
) -> list[Shape]:
    serving = order.comparison.serving
    speak = order.speak
    facts = [
        speak(say("Trays %(numbers)s", numbers=numbers(trays))),
        speak(say("%(ml)s ml a cup", ml=serving.millilitres)),
    ]
    if order.sitting.kind is SittingKind.TABLE:
        limit = POUR_TO_SERVE_LIMIT_SECONDS // 60
        facts.append(speak(say("pour and serve within %(limit)s minutes", limit=limit)))
    if serving.temperature is not None:
        facts.insert(2, speak(say("%(degrees)s °C", degrees=degrees(serving.temperature))))
    box = inside(page)
    shapes: list[Shape] = list(named_head(order, page, speak(title), " · ".join(facts), LEGEND + 4))
    shapes += _legend(order, box, jugs)
    return shapes


def _more_legend(order: Order) -> float:
    """Millimetres that the legend of more than three jugs needs: it stands below the head."""
    jugs = len(order.comparison.beers)
    return -(-jugs // 2) * MANY_ROW + 1.0 if jugs > IN_HEAD else 0.0


def _how(order: Order) -> Message:
    if len(order.comparison.beers) > FEW:
        return _how_of_many(order.sitting.kind)
    match order.sitting.kind:
        case SittingKind.REPEAT:
            return say(
                "Labels under the cups, each cup on its code. Every heavy ring from the first "
                "jug, then every double ring from the second. Read the codes back; then shuffle "
                "each tray by hand with your eyes shut."
            )
        case SittingKind.PARCEL:
            return say(
                "Stand each container on its code. Fill every heavy ring from the first jug, then "
                "every double ring from the second, and close them. Read the codes back; then "
                "containers, sheet and card go into one parcel."
            )
        case SittingKind.TABLE:
            return say(
                "Stand each cup on its code. Every heavy ring from the first jug, then every "
                "double ring from the second. Read the codes back ring by ring; then cups and "
                "card go to plain trays. This mat stays here."
            )


def _how_of_many(kind: SittingKind) -> Message:
    match kind:
        case SittingKind.REPEAT:
            return say(
                "Labels under the cups, each cup on its code. One jug after another, in the order "
                "above: every ring of its kind or with its number. Read the codes back; then "
                "shuffle each tray by hand with your eyes shut."
            )
        case SittingKind.PARCEL:
            return say(
                "Stand each container on its code. One jug after another, in the order above: "
                "every ring of its kind or with its number. Close them and read the codes back; "
                "then containers, sheet and card go into one parcel."
            )
        case SittingKind.TABLE:
            return say(
                "Stand each cup on its code. One jug after another, in the order above: every ring "
                "of its kind or with its number. Read the codes back jug by jug; then cups and "
                "card go to plain trays. This mat stays here."
            )


def _legend(order: Order, box: Box, jugs: dict[str, int]) -> list[Shape]:
    """A ring and a name for each jug, at the right of the head; with which one starts the wave,
    for it is another one in the next. More than three stand in two columns below the head."""
    shapes: list[Shape] = []
    many, below = len(jugs) > FEW, len(jugs) > IN_HEAD
    width = box.width / 2 if below else LEGEND
    start = box.x if below else box.right - LEGEND
    top = box.y + (HEAD + 4.2 if below else 3.4 if many else 4.2)
    for letter, jug in sorted(jugs.items(), key=lambda pair: pair[1]):
        row, column = divmod(jug - 1, 2) if below else (jug - 1, 0)
        left, room = start + column * width, width - 12
        y = top + row * (MANY_ROW if below else MIDDLE_ROW if many else FEW_ROW)
        ring = MANY_RING if many else 8.4
        beer = pouring_name(order.comparison, letter)
        said, face, sizes = (
            (say("In this wave start with %(beer)s", beer=beer), Face.BOLD, FIRST_SIZES)
            if jug == 1
            else (say("then jug %(jug)s: %(beer)s", jug=jug, beer=beer), Face.TEXT, THEN_SIZES)
        )
        if many and jug > 1:
            said = say("then %(beer)s", beer=beer)
        text = order.speak(said)
        shapes += [
            *jug_ring(left + 4.2, y, ring, jug),
            Text(
                x=left + 11,
                y=y + 1.7,
                text=text,
                size=largest_size(text, face, sizes, room, text_width) or sizes[-1],
                face=face,
                room=room,
                what=say("the name of beer %(letter)s, on the pour mat", letter=letter),
            ),
        ]
    return shapes


def _cups(
    trays: Sequence[Tray], key: Key, jugs: dict[str, int], grid: Grid, area: Box, cup: CupSize
) -> list[Shape]:
    shapes: list[Shape] = []
    for index, tray in enumerate(trays):
        row, column = divmod(index, grid.across)
        left = area.x + grid.indent + column * grid.tray_pitch
        middle = area.y + row * grid.row_pitch + (grid.row_pitch - CODE_ROOM) / 2
        shapes.append(_number(tray, left, middle))
        for place, (code, beer) in enumerate(zip(tray.codes(), key[tray.number], strict=True)):
            x = left + NUMBER_ROOM + (place + 0.5) * grid.cup_pitch
            shapes += jug_ring(x, middle, cup.ring, jugs[beer])
            base = middle + max(cup.ring, cup.rim) / 2 + 7.4
            shapes += code_figure(code, x, base, CODE_SIZE, text_width)
    return shapes


def _number(tray: Tray, left: float, middle: float) -> Text:
    """The tray's number, without its check letter: here a letter would be taken for a beer's."""
    return Text(
        x=left + NUMBER_ROOM / 2 - 1,
        y=middle + 2.2,
        text=str(tray.number),
        size=largest_size(str(tray.number), Face.TITLE, NUMBER_SIZES, NUMBER_ROOM, text_width)
        or NUMBER_SIZES[-1],
        face=Face.TITLE,
        anchor=Anchor.MIDDLE,
        room=NUMBER_ROOM,
    )


def _signed(order: Order, page: Box) -> list[Shape]:
    """Lines to sign: who poured, who read back, when the first cup and when the last tray."""
    box = inside(page)
    labels = [
        say("Poured by"),
        say("Codes read back by"),
        say("First cup at"),
        say("Last tray out at"),
    ]
    shares = (0.29, 0.31, 0.19, 0.21)
    shapes: list[Shape] = [rule(box.x, box.right, box.bottom - SIGNED_ROOM + 0.6)]
    x = box.x
    for label, share in zip(labels, shares, strict=True):
        room = share * box.width
        shapes += placed((blanks(order.speak(label), room - 4),), x, box.bottom - SIGNED_ROOM + 0.4)
        x += room
    return shapes
