"""Standings and the steps between them: one table; the docs' diagram is drawn from it."""

from dataclasses import dataclass

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.names import SittingStanding, Standing


@dataclass(frozen=True)
class Step:
    """One thing that can be done: from which standings, to which, and what to say if too early."""

    name: str
    sources: tuple[Standing, ...]
    target: Standing | None  # None: the standing stays as it is
    otherwise: Message


STEPS: dict[str, Step] = {
    step.name: step
    for step in (
        Step(
            "edit",
            (Standing.DRAFTED,),
            None,
            say(
                "This comparison is sealed: its plan cannot be changed any more. Write an "
                "amendment with a reason; it will stand in every report."
            ),
        ),
        Step(
            "seal",
            (Standing.DRAFTED,),
            Standing.SEALED,
            say("This comparison is sealed already. A seal is made once."),
        ),
        Step(
            "open sitting",
            (Standing.SEALED, Standing.SERVING),
            Standing.SERVING,
            say("Sittings open after sealing and before closing. Seal the comparison first."),
        ),
        Step(
            "call off sitting",
            (Standing.SEALED, Standing.SERVING),
            None,
            say(
                "A sitting is called off between sealing and closing. Take it out of the draft "
                "before sealing."
            ),
        ),
        Step(
            "add sitting",
            (Standing.SEALED, Standing.SERVING),
            None,
            say("A sitting can be added after sealing and before closing, if the plan foresaw it."),
        ),
        Step(
            "amend",
            (Standing.SEALED, Standing.SERVING, Standing.CLOSED),
            None,
            say("An amendment belongs to a sealed plan that is not published yet."),
        ),
        Step(
            "close",
            (Standing.SERVING,),
            Standing.CLOSED,
            say("Only a comparison that was served can be closed."),
        ),
        Step(
            "show to the room",
            (Standing.CLOSED, Standing.PUBLISHED),
            None,
            say("Close the comparison first: until then nobody learns which answers are right."),
        ),
        Step(
            "publish",
            (Standing.CLOSED,),
            Standing.PUBLISHED,
            say("Close the comparison first: until then nobody learns which answers are right."),
        ),
    )
}

BALLOTS_WHILE = (SittingStanding.SERVING,)


def require(step: str, standing: Standing) -> None:
    """PanelError (fault STANDING) unless `step` may be taken from `standing`."""
    known = STEPS[step]
    if standing not in known.sources:
        raise PanelError(f"not-{step.replace(' ', '-')}", known.otherwise, Fault.STANDING)


def require_serving(standing: SittingStanding) -> None:
    """PanelError unless a sitting takes ballots."""
    if standing is SittingStanding.PREPARED:
        raise PanelError(
            "sitting-not-open",
            say("This sitting has not opened yet. Ask the steward; then try again."),
            Fault.STANDING,
        )
    if standing is SittingStanding.CLOSED:
        raise PanelError(
            "sitting-closed",
            say("This sitting is closed: its ballots are counted. Give your card to the steward."),
            Fault.STANDING,
        )
