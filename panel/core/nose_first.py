"""Smelling as a step of its own: by smell alone, or nose first and then by taste.

A nose-first ballot asks one question twice, about the same cups: by smell alone, then after
tasting. The plan says beforehand which of the two choices decides; the other one stands beside it.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol, TypeVar, cast

from panel.core.message import Message, say
from panel.core.names import Smell, Step
from panel.core.plan import Plan
from panel.core.questions import Asked, PickCups, When

NOSE = "nose"
"""Id of the question about smell on a nose-first ballot; the one after tasting keeps its own."""

Deciding = TypeVar("Deciding", bound=Asked, covariant=True)


class Asks(Protocol[Deciding]):
    """A method as far as it is needed here: the shape of its question is kept."""

    @property
    def decides(self) -> Callable[[Plan], Deciding]:
        """The question about its cups."""

    @property
    def instruction(self) -> Message:
        """What is to be done with them."""

    @property
    def smelled(self) -> Message | None:
        """The same where they are only smelled, if `instruction` speaks of tasting."""


def cup_questions(method: Asks[Deciding], plan: Plan) -> tuple[Deciding, ...]:
    """What is asked with the cups, in the order in which it is asked: twice only where a choice
    among cups is asked nose first."""
    asked = method.decides(plan)
    if plan.smell is Smell.ONLY:
        return (replace(asked, when=When.NOSE),)
    if plan.smell is Smell.FIRST and isinstance(asked, PickCups):
        both = _by_smell(asked, plan), _after_tasting(asked, plan)
        return cast("tuple[Deciding, ...]", both)
    return (asked,)


def deciding(method: Asks[Deciding], plan: Plan) -> Deciding:
    """The question whose answer is the finding's."""
    return next(one for one in cup_questions(method, plan) if not _is_beside(one))


def beside(method: Asks[Deciding], plan: Plan) -> PickCups | None:
    """The other choice of a nose-first ballot, None on any other ballot."""
    for one in cup_questions(method, plan):
        if isinstance(one, PickCups) and one.beside:
            return one
    return None


def instruction(method: Asks[Deciding], when: When) -> Message:
    """What is to be done with the cups at that moment: smelled (NOSE), or tasted."""
    return (method.smelled or method.instruction) if when is When.NOSE else method.instruction


def _is_beside(question: Asked) -> bool:
    return isinstance(question, PickCups) and question.beside


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
