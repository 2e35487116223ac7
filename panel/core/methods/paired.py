"""Paired comparison: two cups; which one has more of a named attribute?

Modelled on ISO 5495 (paired comparison test): two serving orders, chance 1/2, one-sided where the
plan says beforehand which beer should have more, two-sided where it does not.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice, picks_letter
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups


def favoured(plan: Plan) -> str:
    """The beer whose choices are counted: the expected one, or A where no side was named."""
    return plan.stronger or "A"


def _decides(plan: Plan) -> PickCups:
    return PickCups(
        id="more",
        text=say("Which cup is more %(attribute)s?", attribute=plan.attribute),
        short=say("More %(attribute)s", attribute=plan.attribute),
        pick=1,
        positions=(1, 2),
    )


def _judge(plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    return picks_letter(favoured(plan))(order, picked)


METHOD = ForcedChoice(
    id="paired",
    name=say("Paired comparison"),
    in_a_sentence=say("Two cups: which one has more of one named thing, say bitterness?"),
    instruction=say(
        "Taste both cups and answer the question. You must choose one. Guess if you must."
    ),
    smelled=say("Smell both cups and answer the question. You must choose one. Guess if you must."),
    when_to_use=say(
        "When you know beforehand what should have changed, and can name it in one word. Every "
        "taster then knows what to look for, and the result says so."
    ),
    beers=2,
    cups=2,
    chance=Fraction(1, 2),
    link="2-afc",
    aims=(Aim.DIFFERENCE, Aim.SIMILARITY),
    sides=(1, 2),
    directional=True,
    right=say("chose the cup that was expected"),
    orders=lambda _plan: ("AB", "BA"),
    decides=_decides,
    judge=_judge,
)
