"""A key holder's own passphrase on the sealed key: then neither database nor backup nor the file
instance.key opens it, nor all of them together; the passphrase does, or the sealed envelope.

It is put on after sealing, once the envelope is printed, and can be taken off again. While it is
on, what shows which cup is which comes from the key holder's page alone.
"""

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role, Standing
from panel.services import passwords
from panel.services.keep_key import require_keeper, require_keeper_or_organiser
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.sealed_key import Passphrase, fits, is_locked, salt_of, unwrap, wrap
from panel.services.workplace import Actor, Workplace
from panel.store import key_lock, records, seals

SHORTEST = 15
"""Longer than a password's least: who has a backup and instance.key can try without end."""
WRONG_TRIES = 10
WRONG_WITHIN = timedelta(hours=1)
ENVELOPE = "sealed-key"
"""The sheet that goes into the envelope."""


def locked(at: Workplace, actor: Actor, comparison_id: str) -> bool:
    """Whether a passphrase is on the key: the organiser's to know, and the key holder's."""
    with at.units.read() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        return is_locked(session, comparison_id)


def envelope_printed(at: Workplace, actor: Actor, comparison_id: str) -> bool:
    """Whether somebody has printed the sheet that opens the key without a passphrase."""
    with at.units.read() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        return _envelope_printed(session, comparison_id)


def lock(at: Workplace, actor: Actor, comparison_id: str, passphrase: str, again: str) -> None:
    """Puts a passphrase on the key, if this is its key holder.

    PanelError (field "passphrase") for one that can be guessed, or before the envelope is printed;
    (field "passphrase-again") for a slip of the hand.
    """
    with at.units.read() as session:
        require_keeper(session, actor, comparison_id)
        _require_lockable(session, comparison_id)
        title = existing(session, comparison_id).title
    chosen = _chosen(passphrase, again, actor.name, title)
    under = _made(chosen, at.entropy(key_lock.SALT_BYTES))
    with at.units.begin() as session:
        require_keeper(session, actor, comparison_id)
        _require_lockable(session, comparison_id)
        secrets = unwrap(session, at, comparison_id)
        seals.rewrap(session, comparison_id, wrap(at, comparison_id, secrets, under))
        record(session, at, actor, comparison_id, Deed.KEY_LOCKED)


def take_off(at: Workplace, actor: Actor, comparison_id: str, passphrase: str) -> None:
    """Takes the passphrase off: the key rests under instance.key alone again."""
    under = passphrase_of(at, actor, comparison_id, passphrase)
    with at.units.begin() as session:
        require_keeper(session, actor, comparison_id)
        secrets = unwrap(session, at, comparison_id, under)
        if under is None:
            raise PanelError(
                "no-passphrase",
                say("There is no passphrase on this key."),
                Fault.STANDING,
            )
        seals.rewrap(session, comparison_id, wrap(at, comparison_id, secrets))
        record(session, at, actor, comparison_id, Deed.KEY_UNLOCKED)


def passphrase_of(
    at: Workplace, actor: Actor, comparison_id: str, passphrase: str
) -> Passphrase | None:
    """What opens a locked key, for its key holder; None where no passphrase is on the key, and for
    everybody else, to whom a locked key stays shut.

    PanelError (field "passphrase") for a wrong one, which is recorded, and after too many of them.
    """
    if actor.role is not Role.KEY_HOLDER:
        return None
    with at.units.read() as session:
        require_keeper(session, actor, comparison_id)
        salt = salt_of(session, at, comparison_id)
        if salt is None:
            return None
        _require_tries_left(session, comparison_id, at.now())
    typed = passwords.normal(passphrase.strip())
    if not typed:
        raise PanelError(
            "passphrase-missing",
            say("Type the passphrase that is on this key."),
            field="passphrase",
        )
    under = _made(typed[: passwords.LONGEST], salt)  # no work that grows with what is sent
    with at.units.read() as session:
        if fits(session, at, comparison_id, under):
            return under
    with at.units.begin() as session:
        record(session, at, actor, comparison_id, Deed.PASSPHRASE_REFUSED)
    raise _wrong()


def _made(passphrase: str, salt: bytes) -> Passphrase:
    with passwords.one_at_a_time:
        return Passphrase(key_lock.stretched(passphrase, salt), salt)


def _chosen(passphrase: str, again: str, *known: str) -> str:
    """The passphrase in its one form, if nobody would guess it."""
    typed = passphrase.strip()
    try:
        chosen = passwords.check(typed, *known)
    except PanelError as refusal:
        if refusal.code == "password-short":
            raise _short() from refusal
        raise PanelError(refusal.code, refusal.message, field="passphrase") from refusal
    if len(chosen) < SHORTEST:
        raise _short()
    if passwords.normal(again.strip()) != chosen:
        raise PanelError(
            "passphrase-differs",
            say("The second time something else was typed. Type both anew."),
            field="passphrase-again",
        )
    return chosen


def _short() -> PanelError:
    return PanelError(
        "passphrase-short",
        say(
            "A passphrase needs at least %(least)s characters: four or five words in a row that "
            "only you would put together.",
            least=SHORTEST,
        ),
        field="passphrase",
    )


def _wrong() -> PanelError:
    return PanelError(
        "passphrase-wrong",
        say(
            "This is not the passphrase that is on this key. Capitals and spaces between words "
            "count. If it is lost, the sealed envelope opens the key."
        ),
        Fault.FORBIDDEN,
        field="passphrase",
    )


def _require_tries_left(session: Session, comparison_id: str, now: datetime) -> None:
    since = now - WRONG_WITHIN
    if records.count_since(session, comparison_id, Deed.PASSPHRASE_REFUSED, since) >= WRONG_TRIES:
        raise PanelError(
            "passphrase-too-often",
            say(
                "A wrong passphrase was typed %(count)s times within an hour. Wait an hour, or "
                "open the sealed envelope.",
                count=WRONG_TRIES,
            ),
            Fault.FORBIDDEN,
            field="passphrase",
        )


def _require_lockable(session: Session, comparison_id: str) -> None:
    standing = existing(session, comparison_id).standing
    if standing not in (Standing.SEALED, Standing.SERVING):
        raise PanelError(
            "no-key-shut",
            say("No key of this comparison is shut: it is not sealed yet, or opened already."),
            Fault.STANDING,
        )
    if is_locked(session, comparison_id):
        raise PanelError(
            "passphrase-on",
            say("There is a passphrase on this key already. Take it off first."),
            Fault.STANDING,
        )
    if not _envelope_printed(session, comparison_id):
        raise PanelError(
            "envelope-first",
            say(
                "Print the sealed key first and put it into its envelope: if the passphrase is "
                "lost, nothing else opens the key."
            ),
            Fault.STANDING,
            field="passphrase",
        )


def _envelope_printed(session: Session, comparison_id: str) -> bool:
    printed = records.details(session, comparison_id, Deed.KEY_PRINTED)
    return any(detail.get("sheet") == ENVELOPE for detail in printed)
