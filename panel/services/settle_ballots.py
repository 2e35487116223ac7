"""Questions that only a person can settle: copies that differ, trays that never came back.

Whoever settles sees codes and answers of the copies in question, never a beer.
"""

from dataclasses import dataclass, replace

from panel.core.ballot import Ballot
from panel.core.comparison import Comparison, Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import CardStanding, Reason, SittingStanding, Standing
from panel.services.open_sitting import serving_tray
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import trays as trays_store


@dataclass(frozen=True)
class OpenQuestion:
    """A tray whose copies say different things."""

    tray: Tray
    copies: tuple[Ballot, ...]


@dataclass(frozen=True)
class Outstanding:
    """What has to be decided before a comparison can close."""

    comparison: Comparison
    questions: tuple[OpenQuestion, ...]
    not_returned: tuple[Tray, ...]
    never_used: tuple[Tray, ...]


def outstanding(at: Workplace, actor: Actor, comparison_id: str) -> Outstanding:
    """Open questions and trays without a ballot."""
    actor.require_organiser()
    with at.units.read() as session:
        known = existing(session, comparison_id)
        trays = trays_store.of_comparison(session, comparison_id)
        questions = tuple(
            OpenQuestion(tray, ballots_store.revisions(session, comparison_id, tray.number))
            for tray in trays
            if tray.standing is CardStanding.IN_QUESTION
        )
    return Outstanding(
        known,
        questions,
        tuple(tray for tray in trays if tray.standing is CardStanding.HANDED_OUT),
        tuple(tray for tray in trays if tray.standing is CardStanding.PRINTED),
    )


def settle(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    number: int,
    revision: int,
    seen: int | None = None,
) -> Ballot:
    """Takes one of the copies as the ballot; it is kept as a further revision, the others stay.

    seen: the last revision that was on the page; PanelError (fault CLASH) if another copy has come
    in since, so that nobody's later word is overruled unseen.
    """
    with at.units.begin() as session:
        _known, tray = serving_tray(session, actor, comparison_id, number)
        copies = ballots_store.revisions(session, comparison_id, number)
        chosen = next((copy for copy in copies if copy.revision == revision), None)
        if tray.standing is not CardStanding.IN_QUESTION or chosen is None or chosen.late:
            raise PanelError(
                "nothing-to-settle",
                say("This question is settled already, or that copy cannot be taken."),
                Fault.CLASH,
            )
        last = max(copy.revision for copy in copies)
        if seen is not None and seen != last:
            raise PanelError(
                "another-copy",
                say("Another copy of this ballot came in meanwhile. Look at all of them again."),
                Fault.CLASH,
            )
        taken = replace(chosen, revision=last + 1, received=at.now())
        ballots_store.add(session, comparison_id, taken, None)
        trays_store.set_standing(session, comparison_id, number, CardStanding.RETURNED)
        record(
            session,
            at,
            actor,
            comparison_id,
            Deed.QUESTION_SETTLED,
            str(number),
            taken=revision,
            revision=taken.revision,
        )
    return taken


def set_aside_rest(at: Workplace, actor: Actor, comparison_id: str) -> int:
    """Sets aside, in one go, every tray of closed sittings without a ballot; returns how many."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        if known.standing is not Standing.SERVING:
            raise PanelError(
                "not-serving",
                say("Trays are set aside while a comparison is served."),
                Fault.STANDING,
            )
        reasons = {
            CardStanding.HANDED_OUT: Reason.NOT_RETURNED,
            CardStanding.PRINTED: Reason.NEVER_USED,
        }
        closed = {
            sitting.id for sitting in known.sittings if sitting.standing is SittingStanding.CLOSED
        }
        if not closed:
            raise PanelError(
                "no-closed-sitting",
                say("Close the sitting first: its trays may still bring ballots."),
                Fault.STANDING,
            )
        trays = tuple(
            tray
            for tray in trays_store.of_comparison(session, comparison_id)
            if tray.sitting in closed
        )
        counts: dict[CardStanding, int] = {}
        for standing, reason in reasons.items():
            numbers = [tray.number for tray in trays if tray.standing is standing]
            counts[standing] = len(numbers)
            trays_store.set_standing(
                session, comparison_id, numbers, CardStanding.SET_ASIDE, reason=reason
            )
        record(
            session,
            at,
            actor,
            comparison_id,
            Deed.REST_SET_ASIDE,
            not_returned=counts[CardStanding.HANDED_OUT],
            never_used=counts[CardStanding.PRINTED],
        )
    return sum(counts.values())
