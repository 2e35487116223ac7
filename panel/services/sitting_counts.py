"""How far the sittings of a comparison have come, in numbers alone: no tray is loaded for it."""

from collections import Counter
from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.core.comparison import Sitting
from panel.core.names import CardStanding
from panel.services.plan_comparison import existing, sitting_of
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import trays as trays_store


@dataclass(frozen=True)
class SittingCount:
    """`ballots`: trays with a ballot before closing. `late`: ballots that came after it."""

    sitting: Sitting
    ballots: int
    late: int
    standings: Counter[CardStanding]

    @property
    def out(self) -> int:
        """Trays handed out whose ballot is not in yet."""
        return self.standings[CardStanding.HANDED_OUT]

    @property
    def in_question(self) -> int:
        """Trays about which a person has to decide."""
        return self.standings[CardStanding.IN_QUESTION]


def sitting_counts(at: Workplace, actor: Actor, comparison_id: str) -> tuple[SittingCount, ...]:
    """Of every sitting, for the organiser."""
    actor.require_organiser()
    with at.units.read() as session:
        known = existing(session, comparison_id)
        return _counted(session, known.id, known.sittings)


def sitting_count(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> SittingCount:
    """Of one sitting, for the organiser; PanelError (fault MISSING) if there is none."""
    actor.require_organiser()
    with at.units.read() as session:
        sitting = sitting_of(existing(session, comparison_id), sitting_id)
        return _counted(session, comparison_id, (sitting,))[0]


def _counted(
    session: Session, comparison_id: str, sittings: tuple[Sitting, ...]
) -> tuple[SittingCount, ...]:
    ballots = ballots_store.count_by_sitting(session, comparison_id)
    late = ballots_store.count_late_by_sitting(session, comparison_id)
    standings = trays_store.counts(session, comparison_id)
    return tuple(
        SittingCount(
            sitting,
            ballots.get(sitting.id, 0),
            late.get(sitting.id, 0),
            standings.get(sitting.id, Counter()),
        )
        for sitting in sittings
    )
