"""How the cups are to be tasted, in one sentence: the same on card, phone and steward's script."""

from panel.core.message import Message, say
from panel.core.names import Swallow
from panel.core.plan import Serving


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
