"""A report's first page, for the noticeboard: the sentence, a figure, what limits it, the seal."""

from panel.core.comparison import Comparison
from panel.core.drawing import POINT, Drawing, Face, Group, Ink, Shape, Tag, Text, rule
from panel.core.message import Moment, Speak, say
from panel.core.paper.geometry import Box
from panel.core.result import Result
from panel.core.rosette import rosette
from panel.core.typesetting import Style, largest_size
from panel.core.wording import say_difference, say_finding
from panel.printing.blocks import Block, height_of, placed, space
from panel.printing.fonts import text_width
from panel.printing.link_code import MODULE, QUIET, link_code
from panel.publishing import conditions
from panel.publishing.kinds import chart_of
from panel.publishing.report.edition import Edition
from panel.publishing.report.setting import Sheet, figure, sentences, shown, words

FIGURE = 32.0
"""Millimetres of the rosette and of the code beside it."""

OVER = Style(Face.SEMIBOLD, 10, Ink.SOFT, 1.25)
SIZES = (1.14, 1.07, 1.0, 0.94)
"""By how much everything is set larger or smaller, by how much there is to say: never so small
that a noticeboard could not be read. First all sentences of the other groups, then their counts
alone."""
FEWER = (1.0, 0.94, 0.88)

TALL = 58.0
"""Millimetres of the figure at most."""

IN_TWO = 4
"""More cautions than this stand in two columns."""


def first_page(
    result: Result, comparison: Comparison, edition: Edition, sheet: Sheet, speak: Speak
) -> tuple[Shape, ...]:
    """The shapes of the page, without its foot."""
    box = sheet.box
    low = _seal_height(result)
    room = box.height - low - 4
    tries = [(by, True) for by in SIZES] + [(by, False) for by in FEWER]
    for by, whole in tries:
        blocks = _blocks(result, comparison, box.width, by, whole, speak)
        if height_of(blocks) <= room:
            break
    else:
        blocks = _within(blocks, box.width, room, speak)
    return (
        *placed(blocks, box.x, box.y),
        *_seal_band(result, comparison, edition, Box(box.x, box.bottom - low, box.width, low),
                    speak),
    )  # fmt: skip


def _within(blocks: list[Block], width: float, room: float, speak: Speak) -> list[Block]:
    """As many blocks as fit; what is left out stands whole on the pages that follow."""
    kept: list[Block] = []
    soft = Style(Face.SEMIBOLD, 9.5, leading=1.28)
    for block in blocks:
        if height_of(kept) + block.height > room - 5:
            break
        kept.append(block)
    while kept and kept[-1].keep:
        kept.pop()
    return [*kept, words(speak(say("More stands on the pages behind this one.")), width, soft)]


def _blocks(
    result: Result, comparison: Comparison, room: float, by: float, whole: bool, speak: Speak
) -> list[Block]:
    over = " · ".join(speak(part) for part in conditions.overline(result, comparison))
    blocks = [
        words(over, room, OVER),
        space(1.5),
        words(comparison.title, room, Style(Face.TITLE, 25 * by, leading=1.14), Tag.TITLE),
        space(5 * by),
    ]
    main = result.main
    if main is None:
        lead = Style(Face.TITLE, 17 * by, leading=1.25)
        return [*blocks, words(speak(say("No sitting was held.")), room, lead)]
    said = say_finding(main, comparison)
    blocks += [
        words(sentences(said.lead, speak), room, Style(Face.TITLE, 19 * by, leading=1.22)),
        space(2.5 * by),
        words(sentences(said.then, speak), room * 0.9, Style(Face.TEXT, 12.5 * by, leading=1.35)),
        space(4 * by),
    ]
    chart = chart_of(main, comparison, speak)
    if chart is not None:
        drawing = chart.drawing
        tall = TALL * by * drawing.width / drawing.height
        blocks.append(
            figure(drawing, min(room * 0.92, room * (0.5 + 0.4 * by), tall), below=2 * by)
        )
    return [
        *blocks,
        *_cautions(result, room, by, speak),
        *_others(result, comparison, room, by, whole, speak),
        *_knowing(result, comparison, room, by, speak),
    ]


def _others(
    result: Result, comparison: Comparison, room: float, by: float, whole: bool, speak: Speak
) -> list[Block]:
    """The other groups that were planned, each by itself; whole: with what may be concluded."""
    body = Style(Face.TEXT, 11 * by, leading=1.32)
    others = [one for one in result.findings if one is not result.main and one.planned]
    blocks = []
    for one in others:
        said = say_finding(one, comparison)
        name = conditions.group_name(one, comparison)
        blocks += [
            _heading(speak(name), room, by),
            words(sentences((*said.lead, *(said.then if whole else ())), speak), room * 0.94, body),
            space(1.5 * by),
        ]
    return blocks


def _knowing(
    result: Result, comparison: Comparison, room: float, by: float, speak: Speak
) -> list[Block]:
    """What those who knew did, beside those who did not: never the one without the other."""
    main = result.main
    if main is None or not result.differences:
        return []
    body = Style(Face.TEXT, 11 * by, leading=1.32)
    blocks = [_heading(speak(say("What knowing does")), room, by)]
    for one in result.differences:
        blocks += [
            words(sentences(say_difference(one, main, comparison), speak), room * 0.94, body),
            space(1.5 * by),
        ]
    return blocks


def _cautions(result: Result, room: float, by: float, speak: Speak) -> list[Block]:
    """What limits it, by title; each stands with its text on the pages that follow."""
    if not result.cautions:
        return []
    titles = [speak(caution.title) for caution in result.cautions]
    more = say("What each of them means stands on the pages behind this one.")
    soft = Style(Face.TEXT, 9.5 * by, Ink.SOFT, 1.28)
    return [
        _heading(speak(say("Before you believe it")), room, by),
        *_points(titles, room, by),
        space(0.5),
        words(speak(more), room, soft),
    ]


def _points(titles: list[str], room: float, by: float) -> list[Block]:
    """Titles under one another, or in two columns read downwards."""
    if len(titles) <= IN_TWO:
        return [_point(title, room, by) for title in titles]
    half = -(-len(titles) // 2)
    width = room / 2 - 4
    columns = [[_point(one, width, by) for one in part] for part in (titles[:half], titles[half:])]
    return [
        Block(
            max(map(height_of, columns)),
            (*placed(columns[0], 0, 0), *placed(columns[1], room / 2 + 2, 0)),
            tag=Tag.TEXT,
        )
    ]


def _point(title: str, room: float, by: float) -> Block:
    body = Style(Face.TEXT, 11 * by, leading=1.28)
    set_text = words(title, room - 5, body)
    first = body.size * (0.75 + (body.leading - 1) / 2) * POINT
    dash = Text(x=0, y=first, text="–", size=body.size, face=Face.BOLD, ink=Ink.WAX)
    shapes = (dash, Group(shapes=set_text.shapes, x=5))
    return Block(set_text.height + 0.8 * by, shapes, tag=Tag.TEXT)


def _heading(text: str, room: float, by: float) -> Block:
    set_text = words(text, room, Style(Face.TITLE, 14 * by, leading=1.2), Tag.HEADING)
    lowered = (Group(shapes=set_text.shapes, y=3 * by),)
    return Block(set_text.height + 4.2 * by, lowered, keep=True, tag=Tag.HEADING)


# --- the seal and the address ---------------------------------------------------------------------


def _seal_height(result: Result) -> float:
    return FIGURE + 7.0 if result.seal is not None else FIGURE * 0.8 + 7.0


def _seal_band(
    result: Result, comparison: Comparison, edition: Edition, box: Box, speak: Speak
) -> tuple[Shape, ...]:
    """Rosette and digits at left, the code of the lasting address at right."""
    shapes: list[Shape] = [rule(box.x, box.right, box.y, Ink.INK, 0.3)]
    top = box.y + 6.0
    code = link_code(edition.link)
    side = box.height - 7.0
    quiet = QUIET * MODULE * side / code.width
    shapes.append(
        Group(
            shapes=code.shapes, x=box.right - side + quiet, y=top - quiet + 1,
            scale=side / code.width, tag=Tag.FIGURE,
            said=speak(say("QR code of %(address)s", address=edition.link)),
        )
    )  # fmt: skip
    start = box.x
    if result.seal is not None:
        figure = rosette(bytes.fromhex(result.seal.digest), FIGURE)
        shapes.append(
            Group(
                shapes=(figure,), x=box.x + FIGURE / 2, y=top + FIGURE / 2, tag=Tag.FIGURE,
                said=speak(say("The seal's rosette, drawn from its digits")),
            )
        )  # fmt: skip
        start += FIGURE + 6.0
    room = box.right - side - 5.0 - start
    blocks = _beside(result, comparison, edition, room, speak)
    return (*shapes, *placed(blocks, start, top))


def _beside(
    result: Result, comparison: Comparison, edition: Edition, room: float, speak: Speak
) -> list[Block]:
    soft = Style(Face.TEXT, 9.5, Ink.SOFT, 1.25)
    blocks: list[Block] = []
    if result.seal is not None:
        made = Moment(result.seal.made, conditions.zone(comparison))
        told = say("Sealed %(made)s.", made=made)
        if edition.seal_holds:
            told = say("Sealed %(made)s; opened since, and it holds.", made=made)
        if edition.seal_holds is False:
            told = say("Sealed %(made)s. The seal does not hold.", made=made)
        digits = digest_lines(result.seal.digest)
        blocks += [
            words(speak(told), room, Style(Face.SEMIBOLD, 9.5, leading=1.25)),
            space(0.8),
            *(words(line, room, Style(Face.TEXT, 9, Ink.WAX, 1.3)) for line in digits),
            space(2.2),
        ]
    told = say("Read it whole, and check it, at")
    if edition.draft:
        told = say("Once it is published it is read whole, and checked, at")
    size = largest_size(edition.address, Face.SEMIBOLD, (11.0, 10.0, 9.0, 8.0), room, text_width)
    return [
        *blocks,
        words(speak(told), room, soft),
        words(edition.address, room, Style(Face.SEMIBOLD, size or 8.0, leading=1.2)),
    ]


def digest_lines(digest: str) -> tuple[str, str]:
    """The digits as people compare them: two lines of groups of four."""
    groups = [digest[start : start + 4] for start in range(0, len(digest), 4)]
    return " ".join(groups[:8]), " ".join(groups[8:])


def page_of(shapes: tuple[Shape, ...], sheet: Sheet, comparison: Comparison) -> Drawing:
    """A page of these shapes, named."""
    page = sheet.page
    title = shown(comparison.title, Face.TEXT)
    return Drawing(width=page.width, height=page.height, shapes=shapes, title=title)
