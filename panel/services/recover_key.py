"""A key that does not open any more, because instance.key or the key holder's passphrase was lost,
comes back from the sealed envelope: the secret is typed, everything is drawn again from it, and
only what makes the seal again is taken."""

import json
from dataclasses import replace

from sqlalchemy.orm import Session

from panel.core.allocation.comparison_draw import draw_comparison, draw_one
from panel.core.allocation.dice import Dice, dice_text
from panel.core.allocation.seal import seal_digest
from panel.core.allocation.trays import informed_of, key_words
from panel.core.allocation.written_secret import read_secret
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Standing
from panel.services.keep_key import require_keeper_or_organiser
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.sealed_key import Secrets, secrets_of, unwrap, wrap
from panel.services.workplace import Actor, Workplace
from panel.store import seals
from panel.store.seals import SealedPlan


def opens(at: Workplace, actor: Actor, comparison_id: str) -> bool:
    """Whether the sealed key of a comparison opens with the instance key that is here, and without
    a passphrase."""
    with at.units.read() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        return _opens(session, at, comparison_id)


def recover_key(
    at: Workplace, actor: Actor, comparison_id: str, words: str, dice: str = ""
) -> None:
    """Takes the secret from the sealed key sheet, if it makes the seal again with the sealed plan;
    it then rests under the instance key that is here. dice: what members threw, as it stands on
    the sheet.

    PanelError (field "words") for a slip in a group, and for a secret that was not sealed.
    """
    typed, thrown = read_secret(words), dice_text(dice)
    with at.units.begin() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        known, sealed = _shut(session, at, comparison_id)
        parts = Dice(typed, thrown) if thrown else None
        secret = typed if parts is None else parts.secret()
        found = _drawn_again(known, sealed, secret, parts)
        seals.rewrap(session, comparison_id, wrap(at, comparison_id, found))
        record(session, at, actor, comparison_id, Deed.KEY_RECOVERED)


def _shut(session: Session, at: Workplace, comparison_id: str) -> tuple[Comparison, SealedPlan]:
    """The comparison and what was sealed, where there is something to recover."""
    known = existing(session, comparison_id)
    sealed = seals.load(session, comparison_id)
    if sealed is None or known.standing not in (Standing.SEALED, Standing.SERVING):
        raise PanelError(
            "no-key-shut",
            say("No key of this comparison is shut: it is not sealed yet, or opened already."),
            Fault.STANDING,
        )
    if _opens(session, at, comparison_id):
        raise PanelError(
            "key-opens",
            say("The key of this comparison opens as it should: leave the envelope shut."),
            Fault.STANDING,
        )
    return known, sealed


def _opens(session: Session, at: Workplace, comparison_id: str) -> bool:
    try:
        unwrap(session, at, comparison_id)
    except PanelError as refusal:
        if refusal.code in ("key-at-rest-shut", "key-locked"):
            return False
        raise
    return True


def _drawn_again(
    known: Comparison, sealed: SealedPlan, secret: bytes, parts: Dice | None
) -> Secrets:
    """Everything drawn again from the secret, sittings that were added after sealing too."""
    document = json.loads(sealed.document)
    covered = {sitting["id"] for sitting in document["sittings"]}
    at_sealing = replace(known, sittings=tuple(s for s in known.sittings if s.id in covered))
    draws = list(draw_comparison(secret, at_sealing))
    words = None if parts is None else parts.words()
    digest = seal_digest(document, key_words(draws), secret, informed_of(draws), words)
    if digest != sealed.seal.digest:
        raise PanelError(
            "not-the-secret",
            say(
                "This is a secret, but not the one that was sealed here: with it plan and cards do "
                "not make the seal again. Is it another evening’s envelope, or were dice thrown?"
            ),
            field="words",
        )
    for sitting in known.sittings:
        if sitting.id not in covered:
            first = 1 + sum(draw.drawn for draw in draws)
            draws.append(draw_one(secret, known, sitting, first))
    return secrets_of(secret, draws, parts)
