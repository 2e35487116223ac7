"""How the room did, beside one's own answer: from publication on, when everybody may know it."""

from dataclasses import dataclass

from panel.core.message import Message
from panel.core.names import Role
from panel.core.outcomes import outcomes_of
from panel.core.visibility import Sight, may_see
from panel.core.wording import say_finding
from panel.publishing import conditions
from panel.services.take_ballot import serving_of
from panel.services.tally import opened_of
from panel.services.workplace import Workplace


@dataclass(frozen=True)
class Room:
    """What was counted, in sentences. `own`: of the group in which this tray counts, with the
    group's name, where that is not the one that speaks first; () where it counts in none."""

    said: tuple[Message, ...]
    name: Message | None = None
    own: tuple[Message, ...] = ()


def room(at: Workplace, ref: str) -> Room | None:
    """How everybody did, for the taster of a tray; None until it is published."""
    with at.units.read() as session:
        serving = serving_of(session, ref)
        known = serving.comparison
        if not may_see(Role.TASTER, Sight.FINDINGS, known.standing, known.blinding):
            return None
        opened = opened_of(session, known)
    main = opened.result.main
    if main is None:
        return None
    counted = outcomes_of(known, opened.key, opened.trays, opened.ballots, opened.informed)
    mine = {
        stratum.id
        for stratum in counted.strata
        if any(judged.tray == serving.tray.number for judged in stratum.ballots)
    }
    said = say_finding(main, known).lead
    for finding in opened.result.findings:
        if finding.id in mine and finding is not main:
            name = conditions.group_name(finding, known)
            return Room(said, name, say_finding(finding, known).lead)
    return Room(said)
