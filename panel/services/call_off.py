"""A sitting that will not take place: it is closed without having been opened, and says so."""

from dataclasses import replace

from panel.core import lifecycle
from panel.core.comparison import Sitting
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import CardStanding, Reason, SittingStanding, Standing
from panel.services.plan_comparison import existing, sitting_of
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import comparisons as comparisons_store
from panel.store import sittings as sittings_store
from panel.store import trays as trays_store


def call_off(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> Sitting:
    """Closes a sitting that was never opened and sets its trays aside as never used.

    PanelError (fault STANDING) for one that was opened, or not between sealing and closing.
    """
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("call off sitting", known.standing)
        sitting = sitting_of(known, sitting_id)
        if sitting.standing is not SittingStanding.PREPARED:
            raise PanelError(
                "sitting-opened-before",
                say("This sitting has been opened already: it took place. Close it instead."),
                Fault.STANDING,
            )
        unused = [
            tray.number
            for tray in trays_store.of_sitting(session, comparison_id, sitting_id)
            if tray.standing is CardStanding.PRINTED
        ]
        trays_store.set_standing(
            session, comparison_id, unused, CardStanding.SET_ASIDE, reason=Reason.NEVER_USED
        )
        ended = replace(sitting, standing=SittingStanding.CLOSED, closed=at.now())
        sittings_store.save(session, comparison_id, ended)
        others = [one for one in known.sittings if one.id != sitting_id]
        if known.standing is Standing.SEALED and all(one.not_held for one in others):
            # Nothing is left to be opened, and closing comes after serving.
            comparisons_store.set_standing(session, comparison_id, Standing.SERVING)
        record(
            session,
            at,
            actor,
            comparison_id,
            Deed.SITTING_CALLED_OFF,
            sitting_id,
            never_used=len(unused),
        )
    return ended
