"""Ranking: three to eight beers, put in order by one thing: how well they are liked, or how much
they have of something named.

Modelled on ISO 8587 (ranking) and ISO 29842 (balanced incomplete blocks, where there are more beers
than one taster should drink). Ties are not taken: whoever cannot decide guesses. The first beer has
rank 1.
"""

from panel.core.allocation.incomplete_blocks import block_design, cups_possible
from panel.core.allocation.williams import williams_orders
from panel.core.message import Message, say
from panel.core.methods.method import Ranking
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.questions import OrderCups

FEWEST, MOST = 3, 8
MOST_CUPS = 6
"""On one tray: more are no tasting any more (six to eight beers are an evening's limit; common
practice, no source), and a card has room for so many."""


def orders(plan: Plan) -> tuple[str, ...]:
    """All beers on each tray in Williams' orders, or `plan.cups` of them in incomplete blocks; ()
    where there is no such design."""
    if not FEWEST <= plan.drinks <= MOST:
        return ()
    if plan.cups in (0, plan.drinks):
        return williams_orders(plan.drinks) if plan.drinks <= MOST_CUPS else ()
    return block_design(plan.drinks, plan.cups).orders if plan.cups in some_of(plan) else ()


def some_of(plan: Plan) -> tuple[int, ...]:
    """How many cups a taster can get instead of all."""
    return tuple(cups for cups in cups_possible(plan.drinks) if cups <= MOST_CUPS)


def _ends(plan: Plan) -> tuple[Message, Message]:
    if plan.aim is Aim.PREFERENCE:
        return say("liked best"), say("liked least")
    return (
        say("most %(attribute)s", attribute=plan.attribute),
        say("least %(attribute)s", attribute=plan.attribute),
    )


def decides(plan: Plan) -> OrderCups:
    """The one question of its ballot."""
    first, last = _ends(plan)
    liked = plan.aim is Aim.PREFERENCE
    return OrderCups(
        id="order",
        text=say("Put the cups in order, the one you like best first.")
        if liked
        else say("Put the cups in order, the most %(attribute)s first.", attribute=plan.attribute),
        short=say("Order"),
        positions=tuple(range(1, cups_of(plan) + 1)),
        first=first,
        last=last,
    )


def cups_of(plan: Plan) -> int:
    """How many cups a taster of the plan gets."""
    return plan.cups or plan.drinks


METHOD = Ranking(
    id="ranking",
    name=say("Ranking"),
    in_a_sentence=say("Three to eight beers: put them in order, by liking or by one named thing."),
    instruction=say(
        "Taste all the cups and give each its own place. Guess where you cannot decide."
    ),
    smelled=say("Smell all the cups and give each its own place. Guess where you cannot decide."),
    when_to_use=say(
        "When there are more than two, and the question is which is liked more, or which has more "
        "of one thing. It says in which order they come and which lie apart, not by how much."
    ),
    beers=FEWEST,
    cups=FEWEST,
    aims=(Aim.PREFERENCE, Aim.DIFFERENCE),
    sides=(2,),
    right=say("gave every cup a place"),
    orders=orders,
    decides=decides,
    most_beers=MOST,
)
