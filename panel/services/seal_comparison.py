"""Sealing: the plan is locked, everything is drawn, the seal becomes public. Once."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy.orm import Session

from panel import __version__
from panel.core import lifecycle
from panel.core.allocation.comparison_draw import draw_comparison, draw_one, trays_of
from panel.core.allocation.cover_names import draw_cover_names
from panel.core.allocation.draw import COVER_NAMES, Stream
from panel.core.allocation.seal import canonical, seal_digest
from panel.core.allocation.trays import SittingDraw, informed_of, key_words
from panel.core.amendment import Amendment, words_hash
from panel.core.comparison import Beer, Comparison, Seal, Sitting
from panel.core.deeds import Deed
from panel.core.drafts import check_sitting
from panel.core.errors import Fault, PanelError, RefusalsError
from panel.core.leaks import Leak, blocking_leaks
from panel.core.message import say
from panel.core.names import Blinding, Standing
from panel.core.paper.payload import tray_tokens
from panel.core.plan_document import plan_document, sitting_hash
from panel.core.readiness import Obstacle, obstacles
from panel.printing.printable_texts import unprintable
from panel.services.plan_comparison import SittingDraft, existing, require_seen, sitting_from
from panel.services.record import record
from panel.services.sealed_key import secrets_of, unwrap, wrap
from panel.services.throw_dice import lock_for, thrown
from panel.services.workplace import Actor, Workplace
from panel.store import amendments as amendments_store
from panel.store import comparisons as comparisons_store
from panel.store import seals
from panel.store import sittings as sittings_store
from panel.store import trays as trays_store

SECRET_BYTES = 32


@dataclass(frozen=True)
class Readiness:
    """What stands between a draft and its seal, in words; and what is only advice."""

    blocking: tuple[Obstacle, ...]
    advice: tuple[Obstacle, ...]
    leaks: tuple[Leak, ...]

    @property
    def ready(self) -> bool:
        """Whether it can be sealed, leaks waived or none."""
        return not self.blocking and not self.leaks


def readiness(at: Workplace, actor: Actor, comparison_id: str) -> Readiness:
    """What is still missing, and every word that would tell the blinded what was changed."""
    actor.require_organiser()
    with at.units.read() as session:
        draft = _without_local_codes(at, existing(session, comparison_id))
        return readiness_of(draft, at.now())


def readiness_of(comparison: Comparison, now: datetime | None = None) -> Readiness:
    """The same for a comparison at hand; `now` as in `core.readiness`."""
    found = (*unprintable(comparison), *obstacles(comparison, now))
    return Readiness(
        blocking=tuple(obstacle for obstacle in found if obstacle.blocking),
        advice=tuple(obstacle for obstacle in found if not obstacle.blocking),
        leaks=blocking_leaks(comparison),
    )


def dice_lock(at: Workplace, actor: Actor, comparison_id: str) -> str:
    """What members note before they throw dice: it fixes the organiser's part of the secret and
    all that the draw depends on, and changes with the draft."""
    actor.require_organiser()
    with at.units.read() as session:
        return lock_for(at, _without_local_codes(at, existing(session, comparison_id)))


def seal(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    waiver: str = "",
    seen: str = "",
    dice: str = "",
) -> Comparison:
    """Locks the plan, draws every tray and publishes the seal. seen: as for `save_draft`.

    waiver: why words that tell the variable may stay in texts of blinded tasters, if they do; it
    becomes part of the plan and of the result. dice: what members threw or called out; the secret
    then follows from it and from the part under the lock.
    """
    actor.require_organiser()
    parts = thrown(at, comparison_id, dice)
    secret = at.entropy(SECRET_BYTES) if parts is None else parts.secret()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("seal", known.standing)
        require_seen(known, seen)
        draft = _without_local_codes(at, known)
        locked = _locked(draft, secret, waiver)
        draws = draw_comparison(secret, locked)
        document = plan_document(locked, f"panel {__version__}")
        words = None if parts is None else parts.words()
        digest = seal_digest(document, key_words(draws), secret, informed_of(draws), words)
        made = at.now()
        comparisons_store.save(session, locked)
        for draw in draws:
            _keep_trays(session, at, comparison_id, draw)
        ciphertext = wrap(at, comparison_id, secrets_of(secret, draws, parts))
        seals.add(
            session,
            comparison_id,
            digest=digest,
            document=canonical(document).decode(),
            made=made,
            ciphertext=ciphertext,
        )
        comparisons_store.set_standing(session, comparison_id, Standing.SEALED)
        record(session, at, actor, comparison_id, Deed.SEALED, seal=digest)
    return replace(locked, standing=Standing.SEALED, seal=Seal(digest=digest, made=made))


def add_sitting_after_seal(
    at: Workplace, actor: Actor, comparison_id: str, draft: SittingDraft, waiver: str = ""
) -> Sitting:
    """A further sitting of a sealed comparison, if its plan foresaw that. Its draw follows from
    the sealed secret and the sitting's own id, so it needs no amendment. Words in its texts that
    would tell the blinded are refused, unless a waiver says why they may stay: that is kept as an
    amendment."""
    actor.require_organiser()
    sitting = sitting_from(at, draft)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("add sitting", known.standing)
        if not known.plan.further_sittings:
            raise PanelError(
                "no-further-sittings",
                say(
                    "The sealed plan does not foresee further sittings. Start a comparison of "
                    "its own for this sitting."
                ),
                Fault.STANDING,
            )
        check_sitting(sitting, known)
        _check_further(known, sitting, waiver)
        secrets = unwrap(session, at, comparison_id)
        draw = draw_one(secrets.secret, known, sitting, max(secrets.key) + 1)
        sittings_store.add(session, comparison_id, sitting)
        _keep_trays(session, at, comparison_id, draw)
        longer = wrap(at, comparison_id, secrets.with_draw(draw))
        seals.rewrap(session, comparison_id, longer)
        said = sitting_hash(sitting)
        record(session, at, actor, comparison_id, Deed.SITTING_ADDED, sitting.id, words=said)
        if waiver.strip():
            what = f"Sitting added: {sitting.name}"
            _amend(session, at, actor, comparison_id, what, waiver.strip())
    return sitting


def amendments(at: Workplace, actor: Actor, comparison_id: str) -> tuple[Amendment, ...]:
    """What was changed after sealing, in the order in which it was written."""
    actor.require_organiser()
    with at.units.read() as session:
        return amendments_store.of_comparison(session, comparison_id)


def amend(at: Workplace, actor: Actor, comparison_id: str, what: str, reason: str) -> None:
    """Writes beside the sealed plan what was changed and why; it stands in every report."""
    actor.require_organiser()
    if not what.strip() or not reason.strip():
        raise PanelError(
            "amendment-empty",
            say("Write both what is changed and why: it will stand in every report."),
            field="what" if not what.strip() else "reason",
        )
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        lifecycle.require("amend", known.standing)
        _amend(session, at, actor, comparison_id, what.strip(), reason.strip())


def _amend(
    session: Session, at: Workplace, actor: Actor, comparison_id: str, what: str, reason: str
) -> None:
    """Keeps an amendment; its line in the record holds the hash of its words."""
    number = amendments_store.add(
        session, comparison_id, at=at.now(), person=actor.person, what=what, reason=reason
    )
    said = words_hash(what, reason)
    record(session, at, actor, comparison_id, Deed.AMENDED, str(number), words=said)


def _check_further(known: Comparison, sitting: Sitting, waiver: str) -> None:
    """RefusalsError or PanelError for what a sealed comparison's new sitting cannot be."""
    alone = replace(known, sittings=(sitting,), waived="")
    found = readiness_of(alone)
    mine = [one for one in found.blocking if one.sitting == sitting.id]
    if mine:
        raise _not_ready(mine)
    if not waiver.strip():
        _refuse_leaks(
            tuple(leak for leak in found.leaks if leak.field in ("sitting_name", "place"))
        )


def _not_ready(blocking: Iterable[Obstacle]) -> RefusalsError:
    return RefusalsError(
        tuple(
            PanelError(obstacle.code, obstacle.message, field=obstacle.field)
            for obstacle in blocking
        )
    )


def _refuse_leaks(leaks: tuple[Leak, ...]) -> None:
    if leaks:
        raise PanelError(
            "words-tell",
            say(
                "Some words would tell blinded tasters what was changed: %(words)s. Change "
                "them, or write why they may stay.",
                words=", ".join(sorted({leak.word for leak in leaks})),
            ),
            field="waiver",
        )


def _without_local_codes(at: Workplace, draft: Comparison) -> Comparison:
    """The draft with the codes left out that the installation's settings name, beside its own."""
    excluded = tuple(sorted({*draft.plan.excluded_codes, *at.settings.excluded_codes}))
    return replace(draft, plan=replace(draft.plan, excluded_codes=excluded))


def _locked(draft: Comparison, secret: bytes, waiver: str) -> Comparison:
    """The draft as it is sealed: checked, with its waiver, planned total and cover names."""
    found = readiness_of(draft)
    if found.blocking:
        raise _not_ready(found.blocking)
    if not waiver.strip():
        _refuse_leaks(found.leaks)
    return replace(
        draft,
        waived=waiver.strip() if found.leaks else "",
        beers=_covered(draft, secret),
    )


def _covered(draft: Comparison, secret: bytes) -> tuple[Beer, ...]:
    if draft.blinding is not Blinding.TRIPLE:
        return draft.beers
    letters = [beer.letter for beer in draft.beers]
    names = draw_cover_names(Stream(secret, COVER_NAMES), letters)
    return tuple(replace(beer, cover_name=names[beer.letter]) for beer in draft.beers)


def _keep_trays(session: Session, at: Workplace, comparison_id: str, draw: SittingDraw) -> None:
    trays = trays_of(draw)
    tokens: dict[int, tuple[str, str]] = {}
    for tray in trays:
        made = tray_tokens(at.instance_key, comparison_id, tray.number, tray.version)
        tokens[tray.number] = (made.token, made.short_code)
    trays_store.add_many(session, comparison_id, trays, tokens)
