"""Duo-trio test: a reference, then two coded cups, one of which is the same as the reference.

Modelled on ISO 10399 (duo-trio test): constant reference (two orders) or balanced reference
(four orders), chance 1/2. The reference stands first and bears a code like any other cup, so that
a misplaced cup can be known again.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice
from panel.core.names import Aim, Outcome
from panel.core.plan import BALANCED, Plan
from panel.core.questions import PickCups

ALL_ORDERS = ("AAB", "ABA", "BAB", "BBA")


def _orders(plan: Plan) -> tuple[str, ...]:
    if plan.reference == BALANCED:
        return ALL_ORDERS
    return tuple(order for order in ALL_ORDERS if order[0] == plan.reference)


def _decides(_plan: Plan) -> PickCups:
    return PickCups(
        id="same",
        text=say("Which cup is the same as the reference?"),
        short=say("Same as the reference"),
        pick=1,
        positions=(2, 3),
    )


def _judge(_plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    if not picked:
        return Outcome.NO_CHOICE
    return Outcome.RIGHT if order[picked[0] - 1] == order[0] else Outcome.WRONG


METHOD = ForcedChoice(
    id="duo-trio",
    name=say("Duo-trio test"),
    in_a_sentence=say("A reference and two coded cups: which one is the same as the reference?"),
    instruction=say(
        "The first cup is the reference. One of the other two is the same drink. Taste the "
        "reference first, then the two, and choose the one that is the same. Guess if you must."
    ),
    smelled=say(
        "The first cup is the reference. One of the other two is the same drink. Smell the "
        "reference first, then the two, and choose the one that is the same. Guess if you must."
    ),
    when_to_use=say(
        "Kinder than a triangle where the taste lingers, or when everybody knows one of the two "
        "well: it can stand as the reference. It needs more tasters for the same question."
    ),
    beers=2,
    cups=3,
    chance=Fraction(1, 2),
    link="duo-trio",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    references=(1,),
    right=say("matched the reference"),
    orders=_orders,
    decides=_decides,
    judge=_judge,
)
