"""Cautions about smelling as a step of its own."""

from panel.core.cautions.caution import Caution, Evidence, Severity
from panel.core.message import say
from panel.core.names import Smell, Step


def smelled_only(evidence: Evidence) -> Caution | None:
    """Nothing was tasted, so nothing is said of taste."""
    if evidence.comparison.plan.smell is not Smell.ONLY:
        return None
    return Caution(
        "smelled-only",
        Severity.MIND,
        say("The cups were only smelled."),
        say(
            "Whether people can tell the drinks apart when they drink them is not said here. If "
            "noses find nothing, tongues still may."
        ),
    )


def nose_decides(evidence: Evidence) -> Caution | None:
    """Nose first, and the choice by smell was locked as the deciding one."""
    plan = evidence.comparison.plan
    if plan.smell is not Smell.FIRST or plan.deciding_step is not Step.NOSE:
        return None
    return Caution(
        "nose-decides",
        Severity.MIND,
        say("The choice by smell decides, as was locked beforehand."),
        say(
            "The finding says nothing of the taste. What people chose after tasting stands beside "
            "it and is no second verdict."
        ),
    )


def chosen_before(evidence: Evidence) -> Caution | None:
    """Nose first, and the choice after tasting decides: it is not a first choice."""
    plan = evidence.comparison.plan
    if plan.smell is not Smell.FIRST or plan.deciding_step is not Step.TASTE:
        return None
    return Caution(
        "chosen-before",
        Severity.NOTE,
        say("Everybody had chosen by smell before they tasted."),
        say(
            "Who has chosen once tends to stay with it. The choice after tasting, which decides, "
            "may be another than it would have been without the first one."
        ),
    )
