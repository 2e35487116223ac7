"""The whole kit as one file: a cover that says who gets which pages, then the sheets in that order.

The cover names sheets, pages and hands, and nothing of the question or of any cup: it lies on top.
Each sheet keeps its own foot, so that a pile that was dropped can be put in order again.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby

from panel.core.drawing import Anchor, Drawing, Face, Ink, Shape, Text, rule
from panel.core.message import Message, say, say_n
from panel.core.paper.hands import GOES_TO, NAMED, Hand, dealt
from panel.core.paper.stock import Stock
from panel.printing import kit
from panel.printing.blocks import (
    BODY,
    SMALL,
    Block,
    as_large_as_fits,
    heading,
    placed,
    space,
    stack,
    tick_box,
    words,
)
from panel.printing.canvas import Part, Progress, write_parts
from panel.printing.foot import Foot
from panel.printing.kit import Content, Job
from panel.printing.sheet import Order, below_head, drawing, head

SHEET = say("The kit")
AUDIENCE = say("for whoever deals out the pile")

PAGES = 30.0
"""Millimetres of the column with the pages."""


@dataclass(frozen=True, kw_only=True)
class Dealt:
    """A sheet in the pile: what it is, whose it is, its first and last page there."""

    content: Content
    hand: Hand
    first: int
    last: int


def usual_sheets(job: Job) -> tuple[Content, ...]:
    """What goes into the pile: the usual sheets in the order in which they are dealt."""
    found = [
        one for one in kit.contents(job) if one.usual and not printed_apart(one.name, job.labels)
    ]
    return tuple(sorted(found, key=lambda one: dealt(one.name, one.shows_key)))


def printed_apart(name: str, labels: Stock | None) -> bool:
    """Whether a sheet needs a paper of its own in the printer: bought label sheets do."""
    return name == "cup-labels" and labels is not None and not labels.plain


def whole_kit(job: Job, progress: Progress | None = None) -> bytes:
    """Cover and usual sheets as one PDF. Without a key in the job, what shows it is left out, and
    the cover says so."""
    listed = usual_sheets(job)
    order = job.order
    cover = cover_page(job, deal(listed))
    kind = order.speak(SHEET)
    foot = Foot(sitting=order.sitting.name, sheet=kind, audience=order.speak(AUDIENCE))
    parts = [Part((cover,), 1, foot)]

    def bind(
        pages: Iterable[Drawing],
        *,
        foot: Foot | None = None,
        count: int | None = None,
        **_of_a_file_of_its_own: object,
    ) -> bytes:
        kept = pages if count is not None else tuple(pages)
        parts.append(Part(kept, count if count is not None else len(tuple(kept)), foot))
        return b""

    bound = replace(job, order=replace(order, write=bind))
    for one in listed:
        kit.sheet(one.name, bound)
    return write_parts(
        parts,
        title=kind,
        speak=order.speak,
        language=order.sitting.language,
        printer=order.printer,
        progress=progress,
    )


def deal(listed: Iterable[Content]) -> tuple[Dealt, ...]:
    """The sheets with their pages in the pile; the cover is page 1."""
    found: list[Dealt] = []
    first = 2
    for one in listed:
        last = first + one.pages - 1
        found.append(Dealt(content=one, hand=GOES_TO[one.name], first=first, last=last))
        first = last + 1
    return tuple(found)


def cover_page(job: Job, pile: tuple[Dealt, ...]) -> Drawing:
    """The cover: how many pages, then each hand with its sheets, then what is not in the pile."""
    order = job.order
    page = order.page()
    box = below_head(page)

    def made(room: float) -> list[Block]:
        return [
            words(order.speak(_count(pile)), room, replace(BODY, size=13, face=Face.SEMIBOLD)),
            space(1),
            words(order.speak(_how()), room),
            *_dealing(order, pile, room),
            *_elsewhere(job, pile, room),
        ]

    blocks = as_large_as_fits(made, box.width, box.height)
    (shapes,) = stack(blocks, iter([(0, box)])).values()
    return drawing(page, (*head(order, page, SHEET), *shapes))


def _count(pile: tuple[Dealt, ...]) -> Message:
    return say_n(
        "1 page follows.",
        "%(count)s pages follow, in %(sheets)s kinds of sheet.",
        sum(one.content.pages for one in pile),
        sheets=len(pile),
    )


def _how() -> Message:
    return say(
        "Print at 100 %, on one side of the paper. Deal the pile from the top, and tick what has "
        "been handed over. Each sheet says at its foot what it is and who may see it."
    )


def _dealing(order: Order, pile: tuple[Dealt, ...], room: float) -> list[Block]:
    """A heading for each hand, a line for each sheet; a warning before what shows the key."""
    speak = order.speak
    blocks: list[Block] = []
    shut = next((one.first for one in pile if one.content.shows_key), None)
    for (closed, hand), sheets in groupby(pile, key=lambda one: (one.content.shows_key, one.hand)):
        dealt_to = list(sheets)
        if closed and dealt_to[0].first == shut:
            blocks += _warning(order, shut, room)
        blocks.append(heading(speak(NAMED[hand]), room))
        blocks += [_line(order, one, room) for one in dealt_to]
    return blocks


def _warning(order: Order, first: int, room: float) -> list[Block]:
    said = say(
        "From page %(page)s on, nobody reads who does not get it: these pages tell what the others "
        "keep shut. Hand them over face down.",
        page=first,
    )
    return [
        space(4),
        Block(1.5, (rule(0, room, 0, Ink.INK, 0.5),), keep=True),
        replace(words(order.speak(said), room, replace(BODY, face=Face.BOLD)), keep=True),
    ]


def _line(order: Order, one: Dealt, room: float) -> Block:
    """A box to tick, the sheet, what is done with it, its pages."""
    speak = order.speak
    left = 7.0
    title = words(speak(one.content.title), room - left - PAGES, replace(BODY, face=Face.SEMIBOLD))
    use = words(speak(one.content.goes_to), room - left - PAGES, replace(SMALL, ink=Ink.SOFT))
    height = title.height + use.height + 3.4
    shapes: tuple[Shape, ...] = (
        tick_box(0, 2.0),
        *placed((title, use), left, 1.4),
        Text(
            x=room, y=5.1, text=_pages(order, one), size=BODY.size, face=Face.SEMIBOLD,
            anchor=Anchor.END, room=PAGES,
        ),
        rule(0, room, height),
    )  # fmt: skip
    return Block(height, shapes)


def _pages(order: Order, one: Dealt) -> str:
    if one.first == one.last:
        return order.speak(say("page %(page)s", page=one.first))
    return order.speak(say("pages %(first)s–%(last)s", first=one.first, last=one.last))


def _elsewhere(job: Job, pile: tuple[Dealt, ...], room: float) -> list[Block]:
    """The usual sheets that are not in this pile, and where they come from."""
    order, speak = job.order, job.order.speak
    here = {one.content.name for one in pile}
    missing = [
        piece
        for piece in kit.PIECES.values()
        if order.sitting.kind in piece.usual
        and kit.belongs(piece, order.sitting)
        and piece.name not in here
    ]
    if not missing:
        return []
    blocks = [heading(speak(say("Not in this pile")), room)]
    for piece in missing:
        said = (
            say("%(sheet)s: printed by whoever may see it, from their own page.", sheet=piece.title)
            if piece.shows_key
            else say("%(sheet)s: printed apart, on bought label sheets.", sheet=piece.title)
        )
        blocks += [words(speak(said), room), space(0.8)]
    return blocks
