"""The hand tally: how an evening ends with a pencil, by the rule that was locked beforehand."""

from fractions import Fraction

from panel.core.drawing import Anchor, Drawing, Face, Ink, Shape, Text, rule
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.planning import planned_pc, sides_of
from panel.core.statistics.hand_tally import hand_similarity_rows, hand_tally_rows
from panel.core.statistics.results import HandTallyRow, SimilarityLimit
from panel.core.typesetting import largest_size
from panel.printing.blocks import (
    BODY,
    Block,
    as_large_as_fits,
    blanks,
    placed,
    space,
    steps,
    words,
)
from panel.printing.fonts import text_width
from panel.printing.sheet import Order, below_head, drawing, head, share_of

SHEET = say("Hand tally")

COLUMNS = 6
ROW = 6.4
SIZE = 12.0
WRITTEN = 0.62
"""The share of the width that a line to write on takes."""
HEADING_SIZES = (9.0, 8.0, 7.0, 6.0)
N, DECISIVE = 8.0, 22.0
"""Where the two numbers of a pair end, in millimetres from its left."""


def hand_tally_page(order: Order) -> Drawing:
    """Steps, places for the two counts, and the deciding counts for 3 to 60 ballots."""
    page = order.page()
    box = below_head(page)
    speak = order.speak
    plan = order.comparison.plan
    rows = rows_of(plan)

    def made(room: float) -> list[Block]:
        return [
            *steps([speak(one) for one in _steps(order)], room),
            space(1.5),
            *(blanks(speak(one), WRITTEN * room) for one in _written(plan)),
            space(4),
            words(speak(_reading(plan)), room, BODY),
            space(2),
            *_table(rows, order, room),
        ]

    blocks = as_large_as_fits(made, box.width, box.height)
    return drawing(page, [*head(order, page, SHEET), *placed(blocks, box.x, box.y)])


def rows_of(plan: Plan) -> tuple[HandTallyRow, ...]:
    """The deciding count for each number of ballots: at least, or for similarity at most."""
    method = method_named(plan.method)
    if plan.aim is Aim.SIMILARITY:
        limit = SimilarityLimit(planned_pc(plan, method), Fraction(plan.beta))
        return hand_similarity_rows(limit)
    return hand_tally_rows(method.chance, plan.alpha, sides_of(plan, method))


def _steps(order: Order) -> list[Message]:
    plan = order.comparison.plan
    said = [
        say(
            "Open this only after the last card of the last sitting is in. Nobody adds or changes "
            "a card from now on."
        ),
        say(
            "Lay aside, and count apart: trays that were set aside, cards without an answer, and "
            "blinded tasters who marked that they knew or helped."
        ),
        say(
            "For every other card find its number in the key. Tick the box if the code marked on "
            "the card stands at the end of the line."
        ),
        say("Count blinded and informed tasters apart, always. Never add the two."),
    ]
    if plan.join_sittings and len(order.comparison.sittings) > 1:
        said.append(
            say("By the plan the sittings of one kind make one total: add their cards first.")
        )
    if sides_of(plan, method_named(plan.method)) == 2:
        said.append(
            say(
                "The plan asks in both directions: take the ticked cards or those not ticked, "
                "whichever are more."
            )
        )
    return said


def _written(plan: Plan) -> tuple[Message, ...]:
    """What is written down, each on a line of its own."""
    return say("Cards counted (n)"), _counted(plan), _needed(plan)


def _counted(plan: Plan) -> Message:
    return say("Of these ticked (%(right)s)", right=method_named(plan.method).right)


def _needed(plan: Plan) -> Message:
    if plan.aim is Aim.SIMILARITY:
        return say("At most, from the table")
    return say("Needed, from the table")


def _reading(plan: Plan) -> Message:
    if plan.aim is Aim.SIMILARITY:
        return say(
            "Look up n. As many ticks as the second number or fewer: so few that a difference as "
            "large as planned for can be ruled out, at the %(risk)s risk that was locked. More: "
            "nothing is shown either way. A dash: no count shows it.",
            risk=share_of(plan.beta),
        )
    return say(
        "Look up n. As many ticks as the second number or more: more than guessing would give, at "
        "the %(risk)s risk that was locked. Fewer: no difference was shown, which does not mean "
        "that there is none. A dash: no count can convince, so write down the count and no "
        "verdict.",
        risk=share_of(plan.alpha),
    )


def _table(rows: tuple[HandTallyRow, ...], order: Order, room: float) -> list[Block]:
    """Pairs of n and deciding count, running down the columns."""
    deep = -(-len(rows) // COLUMNS)
    width = room / COLUMNS
    labels: list[Shape] = [rule(0, room, ROW, Ink.INK)]
    for column in range(COLUMNS):
        left = column * width
        labels += _pair(left, "n", order.speak(_label(order.comparison.plan)), bold=False)
    blocks = [Block(ROW, tuple(labels), keep=True)]
    for row in range(deep):
        shapes: list[Shape] = [rule(0, room, ROW)]
        for column in range(COLUMNS):
            index = column * deep + row
            if index < len(rows):
                n, decisive = rows[index].tasters, rows[index].critical_number
                shown = "–" if decisive is None else str(decisive)
                shapes += _pair(column * width, str(n), shown, bold=True)
        blocks.append(Block(ROW, tuple(shapes)))
    return blocks


def _label(plan: Plan) -> Message:
    return say("at most") if plan.aim is Aim.SIMILARITY else say("needed")


def _pair(left: float, n: str, decisive: str, *, bold: bool) -> list[Shape]:
    """A number of ballots and the count that decides, side by side; or their headings."""
    room = DECISIVE - N - 1
    size = SIZE if bold else largest_size(decisive, Face.TEXT, HEADING_SIZES, room, text_width)
    size = size or HEADING_SIZES[-1]
    return [
        Text(x=left + N, y=ROW - 1.8, text=n, size=size, anchor=Anchor.END, ink=Ink.SOFT),
        Text(
            x=left + DECISIVE,
            y=ROW - 1.8,
            text=decisive,
            size=size,
            face=Face.BOLD if bold else Face.TEXT,
            anchor=Anchor.END,
            ink=Ink.INK if bold else Ink.SOFT,
        ),
    ]
