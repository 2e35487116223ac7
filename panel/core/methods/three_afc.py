"""3-AFC: three cups, one of the beer that should have more of a named attribute, two of the other.

The alternative-forced-choice form of the triangle (ASTM E2164 covers the directional pair; the
three-cup form is standard psychophysics): three serving orders, chance 1/3.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice, picks_letter
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups


def _orders(plan: Plan) -> tuple[str, ...]:
    strong = plan.stronger or "B"
    weak = "A" if strong == "B" else "B"
    return (strong + weak + weak, weak + strong + weak, weak + weak + strong)


def _decides(plan: Plan) -> PickCups:
    return PickCups(
        id="most",
        text=say("Which cup is the most %(attribute)s?", attribute=plan.attribute),
        short=say("Most %(attribute)s", attribute=plan.attribute),
        pick=1,
        positions=(1, 2, 3),
    )


def _judge(plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    return picks_letter(plan.stronger or "B")(order, picked)


METHOD = ForcedChoice(
    id="3-afc",
    name=say("3-AFC"),
    in_a_sentence=say("Three cups, one of them stronger in one named thing: which one?"),
    instruction=say(
        "Two cups hold the same drink. Choose the cup the question asks for. Guess if you must."
    ),
    when_to_use=say(
        "When you know what should have changed and which beer should have more of it: it needs "
        "far fewer tasters than a triangle with the same cups."
    ),
    beers=2,
    cups=3,
    chance=Fraction(1, 3),
    link="3-afc",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    directional=True,
    right=say("chose the cup that was expected"),
    orders=_orders,
    decides=_decides,
    judge=_judge,
)
