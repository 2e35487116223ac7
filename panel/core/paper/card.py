"""Where everything sits on a ballot card, for any questions and number of cups.

One description for the printer, the reader, the tests and the picture in the docs. It depends on
the shapes of the questions, the number of cups and the card's size; not on the order of the cups,
on the words or on what the tasters were told.
"""

from collections.abc import Iterator

from panel.core.drawing import POINT
from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.core.paper.card_blocks import block_of
from panel.core.paper.card_format import CardFormat, card_formats
from panel.core.paper.card_parts import (
    CLEAR,
    CODE_QUIET,
    CODE_SIZE,
    EDGE,
    MARK_CLEAR,
    MARK_INSET,
    MARK_RADII,
    RING_RADIUS,
    Block,
    CardLayout,
    WordArea,
)
from panel.core.paper.card_pieces import Setting
from panel.core.paper.card_two_steps import two_steps
from panel.core.paper.geometry import Box, Point
from panel.core.paper.slot import CAPITALS, Slot
from panel.core.questions import PickCups, Question, When, Words

CODE_TOP = 6.5
CODE_FROM_RIGHT = 40.0
"""Of the QR code: its upper edge, and its left edge from the card's right one."""

NARROWEST_GAP = 2.0
WIDEST_GAP = 9.0
"""Between questions: as much white as there is, within these."""

HAIRLINE_CLEAR = RING_RADIUS * (CLEAR - 1)
"""A hairline keeps this far from a block, whose lowest ring may touch the block's edge."""


def deciding_question(questions: tuple[Question, ...]) -> Question:
    """The question that decides: the first that is asked with the cups and not beside another."""
    for question in _with_cups(questions):
        if not (isinstance(question, PickCups) and question.beside):
            return question
    raise ValueError("a card needs a question about its cups")


def steps(questions: tuple[Question, ...]) -> tuple[Question, ...]:
    """The deciding question, and the other choice of a nose-first ballot, as they are asked."""
    decides = deciding_question(questions)
    return tuple(
        one
        for one in _with_cups(questions)
        if one is decides or (isinstance(one, PickCups) and one.beside)
    )


def _with_cups(questions: tuple[Question, ...]) -> Iterator[Question]:
    for question in questions:
        if question.when in (When.NOSE, When.CUPS) and not isinstance(question, Words):
            yield question


def card_layout(
    questions: tuple[Question, ...],
    cups: int,
    references: tuple[int, ...],
    format: CardFormat,
) -> CardLayout:
    """The layout of a card; the first question asked with the cups is the deciding one.

    cups: how many cups stand on the tray. references: positions shown as known. Raises PanelError
    "card-too-full" or "card-too-narrow" with the way out if the questions do not fit.
    """
    stays = Box(0, 0, format.width, format.height - format.stub)
    setting = Setting(format, format.width - 2 * EDGE, cups, references)
    large = steps(questions)
    read = [one for one in questions if not isinstance(one, Words)]
    asked: list[Question] = [one for one in read if one not in large[1:]]
    blocks = [_block(one, setting, large) for one in asked]
    ways, top = _ways(format, setting.width)
    words, bottom = _words(questions, stays, format)
    gap = _gap(blocks, bottom - top, questions, format)
    placed, rules = _stacked(blocks, asked.index(large[0]), top, gap)
    return CardLayout(
        format=format,
        cups=cups,
        stays=stays,
        stub=Box(0, stays.bottom, format.width, format.stub),
        code=Box(format.width - CODE_FROM_RIGHT, CODE_TOP, CODE_SIZE, CODE_SIZE),
        marks=corner_marks(stays),
        header=_header(format),
        ways=ways,
        leads=tuple(lead for block in placed for lead in block.leads),
        rules=rules,
        places=tuple(place for block in placed for place in block.places),
        codes=tuple(code for block in placed for code in block.codes),
        texts=tuple(text for block in placed for text in block.texts),
        words=words,
    )


def _block(question: Question, setting: Setting, large: tuple[Question, ...]) -> Block:
    """The two choices of a nose-first ballot make one block."""
    match large:
        case (PickCups() as nose, PickCups() as taste) if question is nose:
            return two_steps(nose, taste, setting)
    return block_of(question, setting, question in large)


def corner_marks(stays: Box) -> tuple[Point, ...]:
    """The centres of the four corner marks, from the top left clockwise."""
    left, right = stays.x + MARK_INSET, stays.right - MARK_INSET
    top, bottom = stays.y + MARK_INSET, stays.bottom - MARK_INSET
    return Point(left, top), Point(right, top), Point(right, bottom), Point(left, bottom)


def _header(format: CardFormat) -> Box:
    """Room for the title, left of the QR code and below the corner mark."""
    top = MARK_INSET + MARK_RADII[0] + MARK_CLEAR
    right = format.width - CODE_FROM_RIGHT - CODE_QUIET
    return Box(EDGE, top, right - EDGE, format.type.header)


def _ways(format: CardFormat, width: float) -> tuple[tuple[Slot, ...], float]:
    """The slots for phone and pencil under the header; where the questions may begin."""
    height = CAPITALS * format.type.small[0] * POINT
    line = height + 2.2
    top = max(_header(format).bottom, CODE_TOP + CODE_SIZE + CODE_QUIET) + 1.6
    slots = tuple(
        Slot(box=Box(EDGE, top + number * line, width, height), what=what, sizes=format.type.fixed)
        for number, what in enumerate(
            (say("the address to type"), say("the line on how to fill in the card"))
        )
    )
    return slots, top + len(slots) * line


def _words(
    questions: tuple[Question, ...], stays: Box, format: CardFormat
) -> tuple[tuple[WordArea, ...], float]:
    """The lines to write on, between the lower corner marks; where they begin."""
    inset = MARK_INSET + MARK_RADII[0] + MARK_CLEAR
    pitch = format.type.writing_line
    bottom = stays.bottom - 3.0
    areas: list[WordArea] = []
    for question in reversed([one for one in questions if isinstance(one, Words)]):
        top = bottom - pitch * question.lines
        box = Box(stays.x + inset, top, stays.width - 2 * inset, bottom - top)
        lines = tuple(top + pitch * (number + 1) for number in range(question.lines))
        areas.insert(0, WordArea(question.id, box, lines, box.x + format.type.head_column - 6))
        bottom = top
    marks_from = stays.bottom - inset
    return tuple(areas), min(bottom, marks_from)


def _gap(
    blocks: list[Block], room: float, questions: tuple[Question, ...], format: CardFormat
) -> float:
    """The white above each block and below the last; PanelError if there is not enough."""
    left = room - sum(block.height for block in blocks)
    needed = NARROWEST_GAP * (len(blocks) + 1)
    if left < needed:
        raise PanelError("card-too-full", _too_full(needed - left, questions, format), field="card")
    return min(left / (len(blocks) + 1), WIDEST_GAP)


def _too_full(over: float, questions: tuple[Question, ...], format: CardFormat) -> Message:
    sizes = [one.id for one in card_formats(format.sheet.paper)]
    larger = card_formats(format.sheet.paper)[sizes.index(format.id) + 1 :]
    last = [one for one in questions if not one.required] or list(questions)
    if larger and not format.id.endswith("large-print"):
        return say(
            "These questions need %(over)s mm more than this card has (%(card)s). Print a larger "
            "card (%(larger)s), or ask less: leave out “%(question)s”, for example.",
            over=Number(over, 0),
            card=format.name,
            larger=larger[0].name,
            question=last[-1].text,
        )
    return say(
        "These questions need %(over)s mm more than this card has (%(card)s), and there is no "
        "larger one. Ask less: leave out “%(question)s”, for example.",
        over=Number(over, 0),
        card=format.name,
        question=last[-1].text,
    )


def _stacked(
    blocks: list[Block], deciding: int, top: float, gap: float
) -> tuple[list[Block], tuple[float, ...]]:
    """The blocks below one another; the hairlines under the header and around the deciding one.

    Where the white is too narrow for a hairline to keep clear of the rings, it is left out.
    """
    placed: list[Block] = []
    rules = [top]
    y = top
    for number, block in enumerate(blocks):
        if number in (deciding, deciding + 1) and number > 0 and gap / 2 >= HAIRLINE_CLEAR:
            rules.append(y + gap / 2)
        placed.append(block.moved(EDGE, y + gap))
        y += gap + block.height
    return placed, tuple(rules)
