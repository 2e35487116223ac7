"""Two-out-of-five test: five cups, two of one beer and three of the other; find the two.

Modelled on ISO 6658 and Meilgaard, Civille & Carr (both from memory): twenty serving orders, the
ten of AAABB and the ten of BBBAA. One of the ten ways to pick two cups is right: chance 1/10.
"""

from fractions import Fraction
from itertools import combinations

from panel.core.message import say
from panel.core.methods.method import ForcedChoice
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups

CUPS = (1, 2, 3, 4, 5)


def _orders_with(two: str, three: str) -> tuple[str, ...]:
    return tuple(
        "".join(two if cup in pair else three for cup in CUPS) for pair in combinations(CUPS, 2)
    )


ORDERS = (*_orders_with("B", "A"), *_orders_with("A", "B"))


def _decides(_plan: Plan) -> PickCups:
    return PickCups(
        id="two-alike",
        text=say("Which two cups are the same? The other three are the same too."),
        short=say("The two alike"),
        pick=2,
        positions=CUPS,
    )


def _judge(_plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    if not picked:
        return Outcome.NO_CHOICE
    two = min("AB", key=order.count)
    right = all(order[position - 1] == two for position in picked)
    return Outcome.RIGHT if right else Outcome.WRONG


METHOD = ForcedChoice(
    id="two-out-of-five",
    name=say("Two-out-of-five test"),
    in_a_sentence=say("Five cups, two of one drink and three of the other: which are the two?"),
    instruction=say(
        "There are two cups of one drink and three of another. Choose the two. Guess if you must."
    ),
    when_to_use=say(
        "For few people and mild drinks: a guess is right only once in ten. But every taster gets "
        "five cups, with the alcohol of five, and each cup lingers into the next. Not for strong, "
        "bitter, sour or smoky drinks, and not for several tests in one evening."
    ),
    beers=2,
    cups=5,
    chance=Fraction(1, 10),
    link="two-out-of-five",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    right=say("found the two cups"),
    orders=lambda _plan: ORDERS,
    decides=_decides,
    judge=_judge,
)
