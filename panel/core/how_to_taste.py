"""How the cups are smelled and tasted, in a sentence each: the same on card, phone and script."""

from panel.core.message import Message, say
from panel.core.names import Smell, Swallow
from panel.core.plan import Plan, Serving
from panel.core.questions import When


def how_to_take(plan: Plan, serving: Serving, when: When) -> Message:
    """What a taster reads beside the question that is asked at that moment."""
    return how_to_smell(plan, serving) if when is When.NOSE else how_to_taste(serving)


def how_to_smell(plan: Plan, serving: Serving) -> Message:
    """What the plan says of going back to a cup, and that nothing is sipped: yet, or at all."""
    match (serving.retaste, plan.smell):
        case (True, Smell.ONLY):
            return say("Smell from left to right; you may go back. Do not drink.")
        case (False, Smell.ONLY):
            return say("Smell from left to right, each cup once only. Do not drink.")
        case (True, _):
            return say("Smell from left to right; you may go back. Do not sip yet.")
        case _:
            return say("Smell from left to right, each cup once only. Do not sip yet.")


def how_to_taste(serving: Serving) -> Message:
    """What the plan says of going back to a cup and of swallowing, as a taster reads it."""
    match (serving.retaste, serving.swallow):
        case (True, Swallow.SWALLOW):
            return say("Taste from left to right; you may go back. Please swallow each sip.")
        case (True, Swallow.SPIT):
            return say("Taste from left to right; you may go back. Please spit each sip out.")
        case (True, Swallow.EITHER):
            return say("Taste from left to right; you may go back. Swallow or spit as you like.")
        case (False, Swallow.SWALLOW):
            return say("Taste from left to right, each cup once only. Please swallow each sip.")
        case (False, Swallow.SPIT):
            return say("Taste from left to right, each cup once only. Please spit each sip out.")
        case _:
            return say("Taste from left to right, each cup once only. Swallow or spit as you like.")
