"""Triangle test: three cups, two hold the same beer; find the odd one.

Modelled on ISO 4120 (triangle test): six serving orders, chance 1/3.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups

ORDERS = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")


def _decides(_plan: Plan) -> PickCups:
    return PickCups(
        id="odd",
        text=say("Which cup is different?"),
        short=say("Odd cup"),
        pick=1,
        positions=(1, 2, 3),
    )


def _judge(_plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    if not picked:
        return Outcome.NO_CHOICE
    found = order.count(order[picked[0] - 1]) == 1
    return Outcome.RIGHT if found else Outcome.WRONG


METHOD = ForcedChoice(
    id="triangle",
    name=say("Triangle test"),
    in_a_sentence=say("Three cups, two of them the same: which one is different?"),
    instruction=say(
        "Two cups hold the same drink, one is different. Choose the different one. Guess if you "
        "must."
    ),
    when_to_use=say(
        "The usual test when you only want to know whether the change can be tasted at all."
    ),
    beers=2,
    cups=3,
    chance=Fraction(1, 3),
    link="triangle",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    right=say("found the odd cup"),
    orders=lambda _plan: ORDERS,
    decides=_decides,
    judge=_judge,
)
