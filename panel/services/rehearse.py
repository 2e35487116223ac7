"""A rehearsal: the same question in a workplace of its own, which is thrown away afterwards.

Real pages, real sheets, real ballots, so that those who pour and serve can try an evening with
water; nothing of it touches the installation, its record or the seal to come.
"""

from datetime import datetime, timedelta

from panel.core.comparison import Comparison, Sitting
from panel.core.message import Speak, say
from panel.services.plan_comparison import Draft, SittingDraft, add_sitting, start_draft
from panel.services.workplace import Actor, Workplace

SOON = timedelta(hours=1)
"""When its sittings begin, from the moment it is made: the same evening."""


def rehearsal_of(known: Comparison, there: Workplace, actor: Actor, speak: Speak) -> Comparison:
    """A draft of the same question in another workplace; every sitting is on the same day.

    Only what was written goes over: no secret, no code, no serving order, no ballot. The name of
    every sitting says what it is, so that every sheet and card does.
    """
    starts = there.now() + SOON
    sittings = [_sitting(one, starts, speak) for one in known.sittings]
    started = start_draft(
        there,
        actor,
        Draft(
            title=_named(known.title, speak),
            neutral_title=known.neutral_title,
            variable=known.variable,
            beers=known.beers,
            plan=known.plan,
            serving=known.serving,
            drink=known.drink,
            organised_by=known.organised_by,
            helpers=known.helpers,
            duties=known.duties,
        ),
        next(iter(sittings), None),
    )
    for one in sittings[1:]:
        add_sitting(there, actor, started.id, one)
    return started


def _named(name: str, speak: Speak) -> str:
    return speak(say("Rehearsal: %(title)s", title=name))


def _sitting(sitting: Sitting, starts: datetime, speak: Speak) -> SittingDraft:
    return SittingDraft(
        name=_named(sitting.name, speak),
        planned=sitting.planned,
        starts=starts,
        zone=sitting.zone,
        kind=sitting.kind,
        information=sitting.information,
        place=sitting.place,
        told=sitting.told,
        language=sitting.language,
        paper=sitting.paper,
        groups_drawn=sitting.groups_drawn,
    )
