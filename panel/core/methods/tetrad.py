"""Tetrad test, unspecified: four cups, two of each beer; sort them into two pairs.

Modelled on ASTM E3009 (tetrad test): six serving orders. Picking two cups that belong together
also names the other pair, so two of the six ways to pick two are right: chance 1/3.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups

ORDERS = ("AABB", "ABAB", "ABBA", "BBAA", "BABA", "BAAB")


def _decides(_plan: Plan) -> PickCups:
    return PickCups(
        id="pair",
        text=say("Choose two cups that are the same. The other two then make the other pair."),
        short=say("One pair"),
        pick=2,
        positions=(1, 2, 3, 4),
    )


def _judge(_plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    if not picked:
        return Outcome.NO_CHOICE
    same = len({order[position - 1] for position in picked}) == 1
    return Outcome.RIGHT if same else Outcome.WRONG


METHOD = ForcedChoice(
    id="tetrad",
    name=say("Tetrad test"),
    in_a_sentence=say("Four cups, two and two the same: which belong together?"),
    instruction=say(
        "There are two cups of one drink and two of another. Choose two that are the same. Guess "
        "if you must."
    ),
    when_to_use=say(
        "Needs about a third of a triangle's tasters for the same question, at one cup more each. "
        "Not for strong, bitter or lingering drinks."
    ),
    beers=2,
    cups=4,
    chance=Fraction(1, 3),
    link="tetrad",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    right=say("sorted the cups into the right pairs"),
    orders=lambda _plan: ORDERS,
    decides=_decides,
    judge=_judge,
)
