"""Paired preference: two cups; which one do you prefer?

Modelled on ISO 5495 used two-sided: either beer may win. Where the plan allows "no preference" it
is a count of its own and the test runs on those who chose.
"""

from fractions import Fraction

from panel.core.message import say
from panel.core.methods.method import ForcedChoice, picks_letter
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import PickCups


def _decides(plan: Plan) -> PickCups:
    return PickCups(
        id="prefer",
        text=say("Which cup do you prefer?"),
        short=say("Preferred"),
        pick=1,
        positions=(1, 2),
        no_choice=say("No preference") if plan.no_preference else None,
    )


def _judge(_plan: Plan, order: str, picked: tuple[int, ...]) -> Outcome:
    return picks_letter("A")(order, picked)


METHOD = ForcedChoice(
    id="paired-preference",
    name=say("Paired preference"),
    in_a_sentence=say("Two cups: which one do people like better?"),
    instruction=say("Taste both cups and choose the one you would rather drink."),
    smelled=say("Smell both cups and choose the one that smells better to you."),
    when_to_use=say(
        "When the question is not whether people can tell, but which one they would rather have."
    ),
    beers=2,
    cups=2,
    chance=Fraction(1, 2),
    link="2-afc",
    aims=(Aim.PREFERENCE,),
    sides=(2,),
    right=say("preferred the first drink"),
    orders=lambda _plan: ("AB", "BA"),
    decides=_decides,
    judge=_judge,
)
