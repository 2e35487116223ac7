"""Same-different test: two cups; do they hold the same drink or two different ones?

Also called simple difference test (Meilgaard, Civille & Carr, from memory); d-prime with tau by the
differencing rule (Macmillan, Kaplan & Creelman 1977; Ennis, Palen & Mullen 1988, from memory). Four
serving orders, two of a same pair and two of a different one, half of the trays each. Who calls
every pair different would be right about half of them, so both kinds of pair are needed.
"""

from panel.core.message import say
from panel.core.methods.method import Detection, Sign
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.questions import Answer, Choice, Option

DIFFERENT = "different"


def _decides(_plan: Plan) -> Choice:
    return Choice(
        id="alike",
        text=say("Do the two cups hold the same drink, or two different ones?"),
        short=say("Same or different"),
        options=(
            Option(value="same", text=say("the same")),
            Option(value=DIFFERENT, text=say("different")),
        ),
    )


def _signs(_plan: Plan, order: str, said: Answer) -> tuple[Sign, ...]:
    return tuple(Sign(target=order[0] != order[1], said=word == DIFFERENT) for word in said)


METHOD = Detection(
    id="same-different",
    name=say("Same–different test"),
    in_a_sentence=say("Two cups: the same drink, or two different ones?"),
    instruction=say(
        "Taste both cups, from the left. They hold the same drink or two different ones: it may be "
        "either. Say which."
    ),
    smelled=say(
        "Smell both cups, from the left. They hold the same drink or two different ones: it may be "
        "either. Say which."
    ),
    when_to_use=say(
        "The plainest question, with two cups and nothing to keep in mind. But people differ in "
        "how large a difference has to be before they call it one, so it needs far more tasters "
        "than a triangle."
    ),
    beers=2,
    cups=2,
    aims=(Aim.DIFFERENCE,),
    right=say("said rightly whether they were the same"),
    line="same-different",
    paired=False,
    targets=say("pairs of two different drinks"),
    others=say("pairs of one and the same drink"),
    called=say("different"),
    orders=lambda _plan: ("AA", "BB", "AB", "BA"),
    decides=_decides,
    signs=_signs,
)
