"""A-not A test: people get to know A, then say of a coded cup whether it is A or not.

Modelled on ISO 8588 (A-not A test; from memory) and Meilgaard, Civille & Carr (from memory): a
known cup of A first, as often as one likes, then one coded cup. Half of the trays hold A in it,
half the other drink; lots decide which. Here every taster gives one answer (Fisher's exact test);
in `a_not_a_both` every taster gets a cup of each.
"""

from panel.core.message import say
from panel.core.methods.method import Detection, Sign
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.questions import Answer, YesNoPerCup

KNOWN = 1
"""The place of the known cup of A."""


def asked_of(positions: tuple[int, ...]) -> YesNoPerCup:
    """The question about the coded cups at these places."""
    return YesNoPerCup(
        id="is-a",
        text=say("Is it A, the drink you know, or not A?")
        if len(positions) == 1
        else say("Is each of them A, the drink you know, or not A?"),
        short=say("A or not A"),
        positions=positions,
        yes=say("A"),
        no=say("not A"),
    )


def signs(_plan: Plan, order: str, said: Answer) -> tuple[Sign, ...]:
    """One sign for each coded cup: whether it holds what the known cup holds, and was called A."""
    parted = (word.partition(":") for word in said)
    return tuple(
        Sign(target=order[int(place) - 1] == order[KNOWN - 1], said=value == "yes")
        for place, _, value in parted
    )


METHOD = Detection(
    id="a-not-a",
    name=say("A–not A test"),
    in_a_sentence=say("A known drink, then one cup: is it that drink or not?"),
    instruction=say(
        "The first cup is A. Taste it until you know it. Then taste the cup with the question and "
        "say whether it is A or not A. It may be either."
    ),
    smelled=say(
        "The first cup is A. Smell it until you know it. Then smell the cup with the question and "
        "say whether it is A or not A. It may be either."
    ),
    when_to_use=say(
        "When the drinks cannot stand side by side, because they look different, linger or change: "
        "one cup is asked about, and people have to keep A in mind. How readily they say “A” is "
        "kept apart from whether they can tell."
    ),
    beers=2,
    cups=2,
    aims=(Aim.DIFFERENCE,),
    references=(KNOWN,),
    right=say("said rightly whether it was A"),
    line="yes-no",
    paired=False,
    targets=say("cups that held A"),
    others=say("cups that held the other drink"),
    called=say("A"),
    orders=lambda _plan: ("AA", "AB"),
    decides=lambda _plan: asked_of((2,)),
    signs=signs,
)
