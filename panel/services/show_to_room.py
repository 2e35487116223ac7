"""Showing a result to the room: from closing on, and before publication it is written down.

Whoever is in the room knows it then, so showing is publishing to the room.
"""

from dataclasses import dataclass

from panel.core import lifecycle
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Speak, say
from panel.core.names import Standing
from panel.publishing.showing import Doors, Screen, screens
from panel.services.addresses import lasting_link, seal_link
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.show_result import opened_seal
from panel.services.tally import findings
from panel.services.workplace import Actor, Workplace
from panel.store import records


@dataclass(frozen=True)
class Shown:
    """A comparison's screens. Before it is published, `begun`: that showing was written down."""

    comparison: Comparison
    screens: tuple[Screen, ...]
    begun: bool


def begin(at: Workplace, actor: Actor, comparison_id: str) -> None:
    """Writes down that a closed comparison is shown to the room; nothing once it is published."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("show to the room", known.standing)
        if known.standing is not Standing.PUBLISHED:
            record(session, at, actor, comparison_id, Deed.SHOWN_TO_ROOM)


def shown(at: Workplace, actor: Actor, comparison_id: str, speak: Speak) -> Shown:
    """Every screen, for the organiser of a closed or published comparison."""
    actor.require_organiser()
    opened = findings(at, actor, comparison_id)
    known = opened.comparison
    with at.units.read() as session:
        told = records.tells(session, known.id, Deed.SHOWN_TO_ROOM, "")
    lasting = lasting_link(at.settings, known) if at.settings.lasting_address else ""
    doors = Doors(seal_link(at.settings, known), lasting)
    made = screens(opened.result, known, opened_seal(opened).digest(), doors, speak)
    return Shown(known, made, told or known.standing is Standing.PUBLISHED)


def screen(at: Workplace, actor: Actor, comparison_id: str, number: int, speak: Speak) -> Shown:
    """The same, if it has been begun and has a screen of that number (from 1)."""
    found = shown(at, actor, comparison_id, speak)
    if not found.begun:
        raise PanelError(
            "not-begun",
            say("Begin the showing first: whoever is in the room knows the result then."),
            Fault.STANDING,
        )
    if not 1 <= number <= len(found.screens):
        raise PanelError(
            "no-such-page",
            say("There is no such screen. Begin again from the first."),
            Fault.MISSING,
        )
    return found
