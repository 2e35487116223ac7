"""What each shape of question puts on a card: its words, its places, its codes.

Heights and widths depend on the shape of the question and on the card's type, never on the words:
so the reader of a card needs neither fonts nor language to know where its places are.
"""

from panel.core.drawing import POINT, Anchor
from panel.core.message import Message, say
from panel.core.paper.card_grid import SMALLEST_CODE, grid_block
from panel.core.paper.card_parts import RING_RADIUS, SQUARE, Block
from panel.core.paper.card_pieces import (
    CODE_WIDTH,
    NEAREST,
    TO_SQUARE,
    TO_TEXT,
    Setting,
    asked_above,
    asked_large,
    capitals,
    code_at,
    count_to,
    label_slot,
    named_beside,
    ring_at,
    take_back,
    too_narrow,
)
from panel.core.paper.card_signs import sign_of_tray, signs_of_cups
from panel.core.paper.code_figure import BAR
from panel.core.paper.geometry import Box
from panel.core.paper.slot import Fall
from panel.core.questions import (
    NO_CHOICE,
    Choice,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)

BETWEEN_CODES = 2.8
"""White between the large codes of neighbouring cups, so that two never read as one number."""

WIDE_CELL = 28.0
"""A cell this wide holds any option of a long list beside the question's name."""


def block_of(question: Question, setting: Setting, deciding: bool) -> Block:
    """The block of a question that is read by machine; free words have none (`core.paper.card`)."""
    match question:
        case PickCups() if deciding:
            return _pick(question, setting)
        case PickCups():
            return _side_pick(question, setting)
        case Choice() if deciding:
            return sign_of_tray(question, setting)
        case Choice():
            return _choice(question, setting)
        case YesNoPerCup() if deciding:
            return signs_of_cups(question, setting)
        case YesNoPerCup():
            values = (("yes", question.yes), ("no", question.no))
            return grid_block(question, setting, deciding, values, None)
        case ScalePerCup():
            steps = tuple(
                (str(step), say("%(step)s", step=step)) for step in count_to(question.points)
            )
            return grid_block(question, setting, deciding, steps, (question.low, question.high))
        case OrderCups():
            ranks = tuple(
                (str(rank), say("%(rank)s.", rank=rank))
                for rank in count_to(len(question.positions))
            )
            return grid_block(question, setting, deciding, ranks, (question.first, question.last))
        case Words():
            return Block(0.0)


# --- the deciding question over whole cups ------------------------------------------------------


def _pick(question: PickCups, setting: Setting) -> Block:
    """Large codes side by side, under each a ring and its small square."""
    type = setting.type
    lead, asked, top = asked_large(question, setting)
    refusal = question.no_choice
    column = setting.width / (setting.cups + (refusal is not None))
    if column < TO_SQUARE + RING_RADIUS + SQUARE + 2:
        raise too_narrow(question, setting)
    size = min(type.code, (column - BETWEEN_CODES) / CODE_WIDTH)
    if size < SMALLEST_CODE:
        raise too_narrow(question, setting)
    base = top + capitals(size)
    y = base + BAR * size * POINT + TO_TEXT
    codes, places, texts = [], [], [asked]
    for position in count_to(setting.cups):
        x = column * (position - 0.5)
        codes.append(code_at(position, x, base, size, column))
        if position in question.positions:
            ring = ring_at(question, position, "", x, y)
            places += [ring, take_back(ring, TO_SQUARE, 0.0)]
        elif position in setting.references:
            box = Box(x - column / 2 + 1, y - 2.5, column - 2, 5.0)
            texts.append((label_slot(box, type.label, Anchor.MIDDLE, 1), say("reference")))
    if refusal is not None:
        x = column * (setting.cups + 0.5)
        box = Box(x - column / 2 + 1, top, column - 2, base - top)
        texts.append((label_slot(box, type.label, Anchor.MIDDLE, 2, Fall.BOTTOM), refusal))
        ring = ring_at(question, 0, NO_CHOICE, x, y)
        places += [ring, take_back(ring, TO_SQUARE, 0.0)]
    return Block(y + RING_RADIUS, tuple(places), tuple(codes), tuple(texts), (lead,))


# --- questions beside it ------------------------------------------------------------------------


def _choice(question: Choice, setting: Setting) -> Block:
    """Options with their ring at the right of their words: one row, two by two, or by threes."""
    options = [(option.value, 0, option.text) for option in question.options]
    count = len(options)
    columns = count if count <= 3 else 2 if count == 4 else 3
    cell = (setting.width - setting.type.head_column) / columns
    return _options(question, setting, options, columns, beside=count <= 4 or cell >= WIDE_CELL)


def _options(
    question: Question,
    setting: Setting,
    options: list[tuple[str, int, Message]],
    columns: int,
    beside: bool,
) -> Block:
    """Rows of (value, position, words), each with its ring; the question beside or above them."""
    row, rows = setting.type.row, -(-len(options) // columns)
    if beside:
        left, top = setting.type.head_column, 0.0
        texts = [named_beside(question, setting, rows)]
    else:
        left = 0.0
        head, top = asked_above(question, setting)
        texts = [head]
    cell = (setting.width - left) / columns
    if cell < NEAREST + TO_TEXT:
        raise too_narrow(question, setting)
    places = []
    for index, (value, position, words) in enumerate(options):
        down, right = divmod(index, columns)
        x = left + (right + 1) * cell - RING_RADIUS - 0.4
        y = top + (down + 0.5) * row
        start = left + right * cell + (0.0 if right == 0 else 1.2)
        box = Box(start, top + down * row, x - TO_TEXT - start, row - 0.6)
        label = label_slot(box, setting.type.label, Anchor.END, 3, alike=question.id)
        texts.append((label, words))
        places.append(ring_at(question, position, value, x, y))
    return Block(top + rows * row, tuple(places), (), tuple(texts))


def _refusal_room(setting: Setting) -> float:
    """Room for "no preference" in two lines and its ring, behind a row of small codes."""
    return 5.0 * setting.type.label[-1] * POINT + 1.5 + TO_TEXT + RING_RADIUS + 0.4


def _side_pick(question: PickCups, setting: Setting) -> Block:
    """Small codes with their rings in one row."""
    type = setting.type
    wide = type.side_code * CODE_WIDTH
    width = wide + 2 * TO_TEXT
    refusal = question.no_choice
    reserved = _refusal_room(setting) if refusal is not None else 0.0
    needed = len(question.positions) * width + reserved
    if needed <= setting.width - type.head_column:
        left, top, texts = type.head_column, 0.0, [named_beside(question, setting)]
    elif needed <= setting.width:
        head, top = asked_above(question, setting)
        left, texts = 0.0, [head]
    else:
        raise too_narrow(question, setting)
    cell = min((setting.width - left - reserved) / len(question.positions), width + 6.0)
    y = top + type.row / 2
    codes, places = [], []
    for index, position in enumerate(question.positions):
        x = left + (index + 1) * cell - RING_RADIUS - 0.4
        middle = x - TO_TEXT - wide / 2
        base = y + capitals(type.side_code) / 2
        codes.append(code_at(position, middle, base, type.side_code, wide))
        places.append(ring_at(question, position, "", x, y))
    if refusal is not None:
        start = left + len(question.positions) * cell + 1.5
        x = setting.width - RING_RADIUS - 0.4
        box = Box(start, top, x - TO_TEXT - start, type.row)
        texts.append((label_slot(box, type.label, Anchor.END, 2), refusal))
        places.append(ring_at(question, 0, NO_CHOICE, x, y))
    return Block(top + type.row, tuple(places), tuple(codes), tuple(texts))
