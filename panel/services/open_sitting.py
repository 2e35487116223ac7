"""The evening: sittings open and close, trays go out and come back. No answer is seen here."""

from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from panel.core import lifecycle
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import CardStanding, Reason, SittingStanding, Standing
from panel.services.plan_comparison import existing, sitting_of
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import comparisons as comparisons_store
from panel.store import sittings as sittings_store
from panel.store import trays as trays_store

OUT = (CardStanding.HANDED_OUT,)
IN = (CardStanding.RETURNED, CardStanding.IN_QUESTION, CardStanding.COUNTED)


@dataclass(frozen=True)
class Board:
    """How a sitting stands, in counts of trays and ballots only."""

    comparison: Comparison
    sitting: Sitting
    trays: tuple[Tray, ...]
    ballots: int
    late: int

    def count(self, *standings: CardStanding) -> int:
        """Trays in any of these standings."""
        return sum(tray.standing in standings for tray in self.trays)

    @property
    def out(self) -> int:
        """Trays handed out whose ballot is not in yet."""
        return self.count(*OUT)

    @property
    def returned(self) -> int:
        """Trays whose ballot is in."""
        return self.count(*IN)

    @property
    def in_question(self) -> int:
        """Trays about which a person has to decide."""
        return self.count(CardStanding.IN_QUESTION)


def board(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> Board:
    """The sitting's board for whoever serves or organises it."""
    actor.require_serving(comparison_id, sitting_id)
    with at.units.read() as session:
        known = existing(session, comparison_id)
        sitting = sitting_of(known, sitting_id)
        ballots = ballots_store.count_by_sitting(session, comparison_id).get(sitting_id, 0)
        trays = trays_store.of_sitting(session, comparison_id, sitting_id)
        mine = {tray.number for tray in trays}
        late = sum(ballot.tray in mine for ballot in ballots_store.late(session, comparison_id))
        return Board(known, sitting, trays, ballots, late)


def open_sitting(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> Sitting:
    """From now on the sitting takes ballots."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("open sitting", known.standing)
        sitting = sitting_of(known, sitting_id)
        if sitting.standing is not SittingStanding.PREPARED:
            raise PanelError(
                "sitting-opened-before",
                say("This sitting has been opened already."),
                Fault.STANDING,
            )
        opened = replace(sitting, standing=SittingStanding.SERVING, opened=at.now())
        sittings_store.save(session, comparison_id, opened)
        if known.standing is Standing.SEALED:
            comparisons_store.set_standing(session, comparison_id, Standing.SERVING)
        record(session, at, actor, comparison_id, Deed.SITTING_OPENED, sitting_id)
    return opened


def close_sitting(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> Sitting:
    """From now on ballots of this sitting are listed as late and not counted."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        sitting = sitting_of(known, sitting_id)
        if sitting.standing is not SittingStanding.SERVING:
            raise PanelError(
                "sitting-not-serving",
                say("Only a sitting that is open can be closed."),
                Fault.STANDING,
            )
        closed = replace(sitting, standing=SittingStanding.CLOSED, closed=at.now())
        sittings_store.save(session, comparison_id, closed)
        record(session, at, actor, comparison_id, Deed.SITTING_CLOSED, sitting_id)
    return closed


def hand_out(at: Workplace, actor: Actor, comparison_id: str, number: int) -> Tray:
    """The tray goes to a taster."""
    return _move(
        at,
        actor,
        comparison_id,
        number,
        (CardStanding.PRINTED,),
        CardStanding.HANDED_OUT,
        Deed.HANDED_OUT,
    )


def take_back(at: Workplace, actor: Actor, comparison_id: str, number: int) -> Tray:
    """A tray marked as handed out, or set aside by mistake, stands on the table again."""
    return _move(
        at,
        actor,
        comparison_id,
        number,
        (CardStanding.HANDED_OUT, CardStanding.SET_ASIDE),
        CardStanding.PRINTED,
        Deed.TAKEN_BACK,
    )


def set_aside(
    at: Workplace, actor: Actor, comparison_id: str, number: int, reason: Reason, note: str = ""
) -> Tray:
    """The tray will not count, for a reason that is chosen without the key."""
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        _require_open(known)
        changed = replace(
            tray, standing=CardStanding.SET_ASIDE, reason=reason, note=note.strip()[:200]
        )
        trays_store.set_standing(
            session,
            comparison_id,
            number,
            CardStanding.SET_ASIDE,
            reason=reason,
            note=changed.note,
            at=at.now(),
        )
        record(session, at, actor, comparison_id, Deed.SET_ASIDE, str(number), reason=str(reason))
    return changed


def name_taster(at: Workplace, actor: Actor, comparison_id: str, number: int, taster: str) -> Tray:
    """Notes a hand-out number or nickname for a tray, if the taster wishes; "" takes it away."""
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        _require_open(known)
        name = taster.strip()[:60]
        trays_store.set_taster(session, comparison_id, number, name)
        record(session, at, actor, comparison_id, Deed.TASTER_NAMED, str(number))
    return replace(tray, taster=name)


def serving_tray(
    session: Session, actor: Actor, comparison_id: str, number: int
) -> tuple[Comparison, Tray]:
    """The comparison and the tray, for somebody who serves it; PanelError otherwise."""
    known = existing(session, comparison_id)
    tray = trays_store.load(session, comparison_id, number)
    if tray is None:
        raise PanelError(
            "no-such-tray",
            say("There is no card %(number)s in this comparison. Check the number.", number=number),
            Fault.MISSING,
            field="card",
        )
    actor.require_serving(comparison_id, tray.sitting)
    return known, tray


def _move(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    number: int,
    sources: tuple[CardStanding, ...],
    target: CardStanding,
    deed: Deed,
) -> Tray:
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        _require_open(known)
        if tray.standing is target:  # tapped twice: it is as wished already
            return tray
        if tray.standing not in sources:
            raise PanelError(
                "tray-elsewhere",
                say(
                    "Tray %(number)s is somewhere else already: its ballot is in, or it was set "
                    "aside. Look at the list again.",
                    number=number,
                ),
                Fault.CLASH,
            )
        trays_store.set_standing(session, comparison_id, number, target, at=at.now())
        record(session, at, actor, comparison_id, deed, str(number))
    return replace(tray, standing=target, reason=None, note="")


def _require_open(known: Comparison) -> None:
    if known.standing not in (Standing.SEALED, Standing.SERVING):
        raise PanelError(
            "comparison-closed",
            say("This comparison is closed: nothing about its trays changes any more."),
            Fault.STANDING,
        )
