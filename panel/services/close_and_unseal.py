"""Closing: no more ballots, the seal is opened, secret and key become known. Once."""

from collections import Counter
from dataclasses import replace

from sqlalchemy.orm import Session

from panel.core import lifecycle
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say, say_n
from panel.core.names import CardStanding, Role, SittingStanding, Standing
from panel.services.keep_key import require_keeper_or_organiser
from panel.services.lock_key import passphrase_of
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.sealed_key import Passphrase, Secrets, is_locked, unwrap, words_of, wrap
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import comparisons as comparisons_store
from panel.store import seals
from panel.store import trays as trays_store


def still_open(at: Workplace, actor: Actor, comparison_id: str) -> tuple[Message, ...]:
    """What keeps a comparison from closing, in words; () if it can be closed."""
    with at.units.read() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        reasons = _still_open(session, existing(session, comparison_id))
        if actor.role is Role.ORGANISER and is_locked(session, comparison_id):
            reasons += (_keepers_to_close(),)
        return reasons


def close(at: Workplace, actor: Actor, comparison_id: str, passphrase: str = "") -> Comparison:
    """Closes a comparison whose sittings are closed and questions settled, and opens its key: the
    organiser's to do, or the key holder's; the key holder's alone, with the passphrase, while one
    is on the key."""
    under = passphrase_of(at, actor, comparison_id, passphrase)
    with at.units.begin() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        known = existing(session, comparison_id)
        lifecycle.require("close", known.standing)
        reasons = _still_open(session, known)
        if reasons:
            raise PanelError("still-open", reasons[0], Fault.STANDING)
        secrets = _unlocked(session, at, comparison_id, under)
        _count(session, comparison_id)
        seals.open_seal(session, comparison_id, words_of(secrets))
        closed = replace(known, standing=Standing.CLOSED, closed=at.now())
        comparisons_store.set_standing(session, comparison_id, Standing.CLOSED, closed.closed)
        record(session, at, actor, comparison_id, Deed.CLOSED)
    return closed


def _unlocked(
    session: Session, at: Workplace, comparison_id: str, under: Passphrase | None
) -> Secrets:
    """The secrets; a passphrase on them has done its work."""
    if not is_locked(session, comparison_id):
        return unwrap(session, at, comparison_id)
    if under is None:
        raise PanelError("key-locked", _keepers_to_close(), Fault.STANDING)
    secrets = unwrap(session, at, comparison_id, under)
    seals.rewrap(session, comparison_id, wrap(at, comparison_id, secrets))
    return secrets


def _keepers_to_close() -> Message:
    return say(
        "The key holder has put a passphrase on the key: they close the comparison on their own "
        "page. If the passphrase is lost, the sealed envelope opens the key."
    )


def _count(session: Session, comparison_id: str) -> None:
    """Lets the last ballot before closing of every returned tray count."""
    returned = [
        tray.number
        for tray in trays_store.of_comparison(session, comparison_id)
        if tray.standing is CardStanding.RETURNED
    ]
    latest = ballots_store.of_comparison(session, comparison_id)
    ballots_store.mark_all_counted(
        session, comparison_id, {number: latest[number].revision for number in returned}
    )
    trays_store.set_standing(session, comparison_id, returned, CardStanding.COUNTED)


def _still_open(session: Session, known: Comparison) -> tuple[Message, ...]:
    reasons: list[Message] = []
    for sitting in known.sittings:
        if sitting.standing is SittingStanding.SERVING:
            reasons.append(
                say("The sitting “%(name)s” is still open. Close it first.", name=sitting.name)
            )
        if sitting.standing is SittingStanding.PREPARED:
            reasons.append(
                say(
                    "The sitting “%(name)s” has not been held yet. Hold it, or say that it will "
                    "not take place.",
                    name=sitting.name,
                )
            )
    counts: Counter[CardStanding] = Counter()
    for of_sitting in trays_store.counts(session, known.id).values():
        counts += of_sitting
    questions = counts[CardStanding.IN_QUESTION]
    rest = counts[CardStanding.HANDED_OUT] + counts[CardStanding.PRINTED]
    if questions:
        reasons.append(
            say_n(
                "One ballot is in question. Settle it first.",
                "%(count)s ballots are in question. Settle them first.",
                questions,
            )
        )
    if rest:
        reasons.append(
            say_n(
                "One tray has no ballot. Set the rest aside first.",
                "%(count)s trays have no ballot. Set the rest aside first.",
                rest,
            )
        )
    return tuple(reasons)
