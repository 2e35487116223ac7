"""Whether smelling is a step of its own, as a part of the form of a question."""

from dataclasses import replace

from panel.core.message import Message, say
from panel.core.names import Smell, Step
from panel.core.plan import Plan
from panel.web.forms import Typed
from panel.web.organiser_reading import Reading


def with_smell(reading: Reading, plan: Plan) -> Plan:
    """The plan with what the form says of smelling. Which step decides is asked nose first only."""
    smell = reading.word("smell", ("", *Smell), say("Choose one of the three."))
    step = reading.word("deciding_step", ("", *Step), say("Choose which of the two decides."))
    first = smell == Smell.FIRST
    return replace(
        plan,
        smell=Smell(smell) if smell else Smell.WITH_TASTE,
        deciding_step=Step(step) if first and step else Step.TASTE,
    )


def words_of_smell(plan: Plan) -> dict[str, str]:
    """The same as it would be chosen."""
    return {"smell": str(plan.smell), "deciding_step": str(plan.deciding_step)}


def smell_sentence(typed: Typed) -> Message:
    """What stands, in one sentence."""
    match typed.value("smell"), typed.value("deciding_step"):
        case Smell.FIRST, Step.NOSE:
            return say(
                "Nose first: by smell alone, then again after tasting. The choice by smell decides."
            )
        case Smell.FIRST, _:
            return say(
                "Nose first: by smell alone, then again after tasting. The choice after tasting "
                "decides."
            )
        case Smell.ONLY, _:
            return say("The cups are only smelled; nothing is drunk.")
        case _:
            return say("People smell and taste as they drink, and choose once.")
