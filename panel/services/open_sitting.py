"""The evening: sittings open and close, trays go out and come back. No answer is seen here."""

from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from panel.core import lifecycle
from panel.core.blinded_view import blinded_view
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.lifecycle import require_serving
from panel.core.message import Day, Message, say, say_n
from panel.core.names import CardStanding, Reason, Role, SittingStanding, Standing
from panel.core.reconcile import in_question
from panel.core.script import Script, cautions, script_of
from panel.core.side_questions import machine_read
from panel.services.own_cards import require_own_card
from panel.services.plan_comparison import existing, sitting_of
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import comparisons as comparisons_store
from panel.store import sittings as sittings_store
from panel.store import trays as trays_store

LONGEST_NOTE = 200
LONGEST_NAME = 60
FOR_THE_REST = (Reason.NEVER_USED, Reason.NOT_RETURNED)
"""Reasons that say no more than that no ballot came."""
NOT_BY_HAND = (*FOR_THE_REST, Reason.REVEALED)
"""Reasons that nobody chooses for a single tray."""

OUT = (CardStanding.HANDED_OUT,)
IN = (CardStanding.RETURNED, CardStanding.IN_QUESTION, CardStanding.COUNTED)


@dataclass(frozen=True)
class Board:
    """How a sitting stands, in counts of trays and ballots only.

    `script` is read aloud, and of the variable holds what an informed sitting is told: whoever
    reads that out learns it. Nothing else here says it, to a steward.
    """

    comparison: Comparison
    sitting: Sitting
    trays: tuple[Tray, ...]
    ballots: int
    late: int
    script: Script
    cautions: tuple[Message, ...]

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
    def set_aside(self) -> int:
        """Trays that somebody has set aside for a reason of theirs."""
        return sum(
            tray.standing is CardStanding.SET_ASIDE and tray.reason not in FOR_THE_REST
            for tray in self.trays
        )

    def because(self, reason: Reason) -> int:
        """Trays that will not count for this reason."""
        return sum(tray.reason == reason for tray in self.trays)

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
        script = script_of(known, sitting)
        minded = cautions(replace(known, sittings=(sitting,)))
        if actor.role is not Role.ORGANISER:
            known = blinded_view(known)
            sitting = sitting_of(known, sitting_id)
        return Board(known, sitting, trays, ballots, late, script, minded)


def asked_before_opening(sitting: Sitting, now: datetime) -> Message | None:
    """What is asked before a sitting is opened on another day than planned; None on its day."""
    if not sitting.on_another_day(now):
        return None
    return say(
        "This sitting is planned for %(planned)s. Open it today, %(today)s, all the same? The "
        "result then says so.",
        planned=Day(sitting.starts, sitting.zone),
        today=Day(now, sitting.zone),
    )


def open_sitting(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    sitting_id: str,
    *,
    another_day: bool = False,
) -> Sitting:
    """From now on the sitting takes ballots.

    PanelError (code "another-day") on another day than planned, unless `another_day`.
    """
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
        now = at.now()
        asked = asked_before_opening(sitting, now)
        if asked is not None and not another_day:
            raise PanelError("another-day", asked, Fault.STANDING, field=f"sitting-{sitting_id}")
        opened = replace(sitting, standing=SittingStanding.SERVING, opened=now)
        sittings_store.save(session, comparison_id, opened)
        if known.standing is Standing.SEALED:
            comparisons_store.set_standing(session, comparison_id, Standing.SERVING)
        record(
            session, at, actor, comparison_id, Deed.SITTING_OPENED, sitting_id, **_otherwise(asked)
        )
    return opened


def _otherwise(asked: Message | None) -> dict[str, bool]:
    return {} if asked is None else {"another_day": True}


def close_sitting(
    at: Workplace, actor: Actor, comparison_id: str, sitting_id: str, *, anyway: bool = False
) -> Sitting:
    """From now on ballots of this sitting are listed as late and not counted.

    PanelError (code "trays-still-out") while trays are out whose cards could still be keyed in,
    unless `anyway`.
    """
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
        out = trays_store.counts(session, comparison_id)[sitting_id][CardStanding.HANDED_OUT]
        if out and not anyway:
            raise PanelError(
                "trays-still-out",
                say_n(
                    "One tray is out and its ballot is not in. Key its card in first, or close "
                    "all the same: what comes later is listed and not counted.",
                    "%(count)s trays are out and their ballots are not in. Key their cards in "
                    "first, or close all the same: what comes later is listed and not counted.",
                    out,
                ),
                Fault.STANDING,
                field="anyway",
            )
        closed = replace(sitting, standing=SittingStanding.CLOSED, closed=at.now())
        sittings_store.save(session, comparison_id, closed)
        record(session, at, actor, comparison_id, Deed.SITTING_CLOSED, sitting_id)
    return closed


def hand_out(at: Workplace, actor: Actor, comparison_id: str, number: int) -> Tray:
    """The tray goes to a taster."""
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        require_serving(sitting_of(known, tray.sitting).standing)
        if tray.standing is CardStanding.HANDED_OUT:  # tapped twice: it is as wished already
            return tray
        if tray.standing is not CardStanding.PRINTED:
            raise _elsewhere(number)
        now = at.now()
        target = CardStanding.HANDED_OUT
        trays_store.set_standing(session, comparison_id, number, target, at=now)
        record(session, at, actor, comparison_id, Deed.HANDED_OUT, str(number))
    return replace(tray, standing=target, handed_out=now)


def take_back(at: Workplace, actor: Actor, comparison_id: str, number: int) -> Tray:
    """Undoes the last tap: a tray set aside by mistake is again what it was before, a tray marked
    as handed out stands on the table again."""
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        _require_open(known)
        if tray.reason is Reason.REVEALED:
            raise _opened(number)
        if tray.standing is CardStanding.HANDED_OUT:
            target = CardStanding.PRINTED
        elif tray.standing is CardStanding.SET_ASIDE:
            target = _before_setting_aside(session, known, tray)
        elif tray.standing is CardStanding.PRINTED:
            return tray
        else:
            raise _elsewhere(number)
        kept = tray.handed_out if target is not CardStanding.PRINTED else None
        trays_store.set_standing(session, comparison_id, number, target, at=kept)
        record(session, at, actor, comparison_id, Deed.TAKEN_BACK, str(number))
    return replace(tray, standing=target, reason=None, note="", handed_out=kept)


def set_aside(
    at: Workplace, actor: Actor, comparison_id: str, number: int, reason: Reason, note: str = ""
) -> Tray:
    """The tray will not count, for a reason that is chosen without the key."""
    if len(note.strip()) > LONGEST_NOTE:
        raise PanelError(
            "note-too-long",
            say("Keep the note under %(longest)s characters.", longest=LONGEST_NOTE),
            field="note",
        )
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        _require_open(known)
        if reason in FOR_THE_REST:
            raise PanelError(
                "reason-for-the-rest",
                say("Trays without a ballot are set aside all together before closing."),
                field="reason",
            )
        if Reason.REVEALED in (reason, tray.reason):
            raise _opened(number)
        changed = replace(tray, standing=CardStanding.SET_ASIDE, reason=reason, note=note.strip())
        trays_store.set_standing(
            session, comparison_id, number, changed.standing, reason=reason, note=changed.note,
            at=tray.handed_out,
        )  # fmt: skip
        record(session, at, actor, comparison_id, Deed.SET_ASIDE, str(number), reason=str(reason))
    return changed


def name_taster(at: Workplace, actor: Actor, comparison_id: str, number: int, taster: str) -> Tray:
    """Notes a hand-out number or nickname for a tray, if the taster wishes; "" takes it away."""
    name = taster.strip()
    if len(name) > LONGEST_NAME:
        raise PanelError(
            "taster-too-long",
            say(
                "Keep it under %(longest)s characters: a number or nickname.", longest=LONGEST_NAME
            ),
            field="taster",
        )
    with at.units.begin() as session:
        known, tray = serving_tray(session, actor, comparison_id, number)
        _require_open(known)
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
    require_own_card(actor, known, tray)
    return known, tray


def _before_setting_aside(session: Session, known: Comparison, tray: Tray) -> CardStanding:
    copies = ballots_store.revisions(session, known.id, tray.number)
    in_time = tuple(copy for copy in copies if not copy.late)
    if in_time:
        asked = machine_read(known)
        return CardStanding.IN_QUESTION if in_question(in_time, asked) else CardStanding.RETURNED
    return CardStanding.HANDED_OUT if tray.handed_out else CardStanding.PRINTED


def _elsewhere(number: int) -> PanelError:
    return PanelError(
        "tray-elsewhere",
        say(
            "Tray %(number)s is somewhere else already: its ballot is in, or it was set aside. "
            "Look at the list again.",
            number=number,
        ),
        Fault.CLASH,
    )


def _opened(number: int) -> PanelError:
    return PanelError(
        "tray-opened",
        say(
            "Tray %(number)s can be opened by the organiser or the key holder only, in an "
            "emergency. Once opened it stays set aside.",
            number=number,
        ),
        Fault.STANDING,
        field="reason",
    )


def _require_open(known: Comparison) -> None:
    if known.standing not in (Standing.SEALED, Standing.SERVING):
        raise PanelError(
            "comparison-closed",
            say("This comparison is closed: nothing about its trays changes any more."),
            Fault.STANDING,
        )
