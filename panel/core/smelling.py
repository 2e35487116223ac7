"""What is said and done where smelling is a step of its own: for the script, the sheets, the door.

Smell cups are usually small pours in large covered cups (common practice, no source; ISO 6658 has
covered vessels for odour, from memory). Where nothing is drunk no alcohol is counted, so people who
drive or do not drink may take part; the smell of alcohol itself may still be too much for somebody.
"""

from panel.core.comparison import Comparison
from panel.core.how_to_taste import how_to_smell
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Smell
from panel.core.nose_first import cup_questions, instruction

USUAL_POUR = 30
"""Most millilitres that smelling alone needs (common practice, no source)."""

LID = say("If a cup has a lid, lift it only to smell, and put it back.")
FIRST_STANDS = say(
    "Mark that choice in the row “By smell”, before the first sip. It stands, whatever you find "
    "later."
)
THEN_TASTE = say(
    "Then taste and choose once more, in the row “After tasting”: the same again or another. "
    "Changing your mind is neither better nor worse."
)
LIDS = say(
    "Smell is asked for by itself. Take cups at least three times as large as the pour and put a "
    "lid on each as soon as it is filled: all lids alike, without a smell of their own."
)
PLAIN_AIR = say("Breathe plain air between cups, and take your time.")
NOTHING_IS_DRUNK = say("Nothing is drunk: the cups are only smelled.")
WHO_MAY = say(
    "Nothing is swallowed, so people who drive or do not drink may take part. Anyone for whom even "
    "the smell of alcohol is too much sits out, and need not say why."
)
OF_FREE_WILL = say(
    "You take part of your own free will. You may stop at any moment, leave a cup, and need not "
    "say why."
)


def only_smelled(comparison: Comparison) -> bool:
    """Whether nothing is drunk."""
    return comparison.plan.smell is Smell.ONLY


def by_smell(comparison: Comparison) -> tuple[tuple[Message, ...], ...]:
    """How one chooses by smell, step by step; and nose first, that the choice stands. () where
    smelling is no step of its own."""
    plan = comparison.plan
    if plan.smell is Smell.WITH_TASTE:
        return ()
    method = method_named(plan.method)
    asked = cup_questions(method, plan)[0]
    steps = (
        (instruction(method, asked.when), asked.text),
        (how_to_smell(plan, comparison.serving), LID),
    )
    return steps if only_smelled(comparison) else (*steps, (FIRST_STANDS,), (THEN_TASTE,))
