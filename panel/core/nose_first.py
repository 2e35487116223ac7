"""Smelling as a step of its own: by smell alone, or nose first and then by taste.

A nose-first ballot asks one question twice, about the same cups: by smell alone, then after
tasting. The plan says beforehand which of the two choices decides; the other one stands beside it.
"""

from dataclasses import replace

from panel.core.message import Message, say
from panel.core.methods.method import Method
from panel.core.names import Smell, Step
from panel.core.plan import Plan
from panel.core.questions import PickCups, When

NOSE = "nose"
"""Id of the question about smell on a nose-first ballot; the one after tasting keeps its own."""


def cup_questions(method: Method, plan: Plan) -> tuple[PickCups, ...]:
    """What is asked with the cups, in the order in which it is asked."""
    asked = method.decides(plan)
    match plan.smell:
        case Smell.FIRST:
            return _by_smell(asked, plan), _after_tasting(asked, plan)
        case Smell.ONLY:
            return (replace(asked, when=When.NOSE),)
        case Smell.WITH_TASTE:
            return (asked,)


def deciding(method: Method, plan: Plan) -> PickCups:
    """The question whose answer is the finding's."""
    return next(one for one in cup_questions(method, plan) if not one.beside)


def beside(method: Method, plan: Plan) -> PickCups | None:
    """The other choice of a nose-first ballot, None on any other ballot."""
    return next((one for one in cup_questions(method, plan) if one.beside), None)


def instruction(method: Method, when: When) -> Message:
    """What is to be done with the cups at that moment: smelled (NOSE), or tasted."""
    return (method.smelled or method.instruction) if when is When.NOSE else method.instruction


def decides_by_smell(plan: Plan) -> bool:
    """Whether the finding is one of smell."""
    return plan.smell is Smell.ONLY or (
        plan.smell is Smell.FIRST and plan.deciding_step is Step.NOSE
    )


def _by_smell(asked: PickCups, plan: Plan) -> PickCups:
    return replace(
        asked,
        id=NOSE,
        moment=say("By smell"),
        short=say("%(question)s, by smell", question=asked.short),
        when=When.NOSE,
        beside=plan.deciding_step is not Step.NOSE,
    )


def _after_tasting(asked: PickCups, plan: Plan) -> PickCups:
    return replace(
        asked,
        moment=say("After tasting"),
        short=say("%(question)s, after tasting", question=asked.short),
        beside=plan.deciding_step is not Step.TASTE,
    )
