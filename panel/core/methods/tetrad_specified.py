"""Tetrad test, specified: four cups, two of each beer; name the two with more of an attribute.

Modelled on ASTM E3009 (tetrad test, specified form): six serving orders, one right pair of six,
chance 1/6.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice, picks_letter
from panel.core.methods.tetrad import ORDERS
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups


def _decides(plan: Plan) -> PickCups:
    return PickCups(
        id="two",
        text=say("Which two cups are the more %(attribute)s?", attribute=plan.attribute),
        short=say("Two more %(attribute)s", attribute=plan.attribute),
        pick=2,
        positions=(1, 2, 3, 4),
    )


def _judge(plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    return picks_letter(plan.stronger or "B")(order, picked)


METHOD = ForcedChoice(
    id="tetrad-specified",
    name=say("Tetrad test with a named attribute"),
    in_a_sentence=say("Four cups, two and two the same: which two have more of one named thing?"),
    instruction=say(
        "There are two cups of one drink and two of another. Choose the two cups the question "
        "asks for. Guess if you must."
    ),
    when_to_use=say(
        "When you know what should have changed and which beer should have more of it, and four "
        "cups are not too many. Needs the fewest tasters of all."
    ),
    beers=2,
    cups=4,
    chance=Fraction(1, 6),
    link="tetrad-specified",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    directional=True,
    right=say("chose the two cups that were expected"),
    orders=lambda _plan: ORDERS,
    decides=_decides,
    judge=_judge,
)
