"""In an emergency one tray is opened, and no other: somebody is ill, or fears an allergy.

Its ballot no longer counts, whatever it says; that it was opened is recorded and said in the
result. Modelled on ICH E6(R3), 3.15: one participant is identified without exposing the rest.
"""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Beer, Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import CardStanding, Reason, Role, Standing
from panel.core.visibility import Sight, require_sight
from panel.services.keep_key import require_keeper
from panel.services.lock_key import passphrase_of
from panel.services.open_sitting import LONGEST_NOTE
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.sealed_key import Passphrase, is_locked, order_of
from panel.services.workplace import Actor, Workplace
from panel.store import trays as trays_store


@dataclass(frozen=True)
class OpenedCup:
    """A cup of the opened tray and the beer that was in it."""

    code: str
    beer: Beer


@dataclass(frozen=True)
class OpenedTray:
    """One tray with its answer; nothing of any other."""

    card: str
    cups: tuple[OpenedCup, ...]
    allergens: tuple[str, ...]


def open_one_tray(
    at: Workplace, actor: Actor, comparison_id: str, number: int, reason: str, passphrase: str = ""
) -> OpenedTray:
    """Opens the tray for an organiser or the key holder, and sets it aside for good. While a
    passphrase is on the key, for the key holder alone, with it.

    PanelError without a reason, for a tray that is not there, and once the key is open anyway.
    """
    why = _reason(reason)
    under = passphrase_of(at, actor, comparison_id, passphrase)
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        _require_shut(session, actor, known)
        tray = trays_store.load(session, comparison_id, number)
        if tray is None:
            raise PanelError(
                "no-such-tray",
                say("There is no card %(number)s in this comparison.", number=number),
                Fault.MISSING,
                field="card",
            )
        order = _order(session, at, known, number, under)
        trays_store.set_standing(
            session, comparison_id, number, CardStanding.SET_ASIDE,
            reason=Reason.REVEALED, note=why, at=tray.handed_out,
        )  # fmt: skip
        record(
            session, at, actor, comparison_id, Deed.TRAY_REVEALED, str(number), emergency=True
        )  # fmt: skip
    beers = {beer.letter: beer for beer in known.beers}
    cups = tuple(
        OpenedCup(cup.code, beers[letter]) for cup, letter in zip(tray.cups, order, strict=True)
    )
    return OpenedTray(card_number(number), cups, known.serving.allergens)


def _order(
    session: Session, at: Workplace, known: Comparison, number: int, under: Passphrase | None
) -> str:
    """The tray's order; while it is locked, what can be said without it: it may be any of them."""
    if under is None and is_locked(session, known.id):
        raise PanelError(
            "tray-locked",
            say(
                "The key holder has put a passphrase on the key: they open this tray on their own "
                "page, or the sealed envelope tells. Until then take it that any of the allergens "
                "may have been in it: %(allergens)s.",
                allergens=", ".join(known.serving.allergens),
            )
            if known.serving.allergens
            else say(
                "The key holder has put a passphrase on the key: they open this tray on their own "
                "page, or the sealed envelope tells."
            ),
            Fault.STANDING,
        )
    return order_of(session, at, known.id, number, under)


def _reason(typed: str) -> str:
    reason = typed.strip()
    if not reason:
        raise PanelError(
            "no-reason",
            say("Write in a few words why this tray is opened, such as: swollen lips."),
            field="reason",
        )
    if len(reason) > LONGEST_NOTE:
        raise PanelError(
            "note-too-long",
            say("Keep it under %(longest)s characters.", longest=LONGEST_NOTE),
            field="reason",
        )
    return reason


def _require_shut(session: Session, actor: Actor, known: Comparison) -> None:
    if actor.role is Role.KEY_HOLDER:
        require_keeper(session, actor, known.id)
    require_sight(actor.role, Sight.ONE_TRAY, known.standing, known.blinding)
    if known.standing not in (Standing.SEALED, Standing.SERVING):
        raise PanelError(
            "key-open",
            say("The key of this comparison is open: look its cards and codes up in the result."),
            Fault.STANDING,
        )
