"""The key holder's pages: the keys they keep, the sheets that show them, a passphrase on them, the
closing.

What shows the key is asked for by a button and comes back to it; nothing of it stands on a page
that can be come back to.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import parse_card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.names import Standing
from panel.services import (
    close_and_unseal,
    emergency,
    keep_key,
    lock_key,
    print_kit,
    recover_key,
)
from panel.services.emergency import OpenedTray
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.limits import PASSPHRASES, limiter
from panel.web.organiser_sentences import STANDINGS
from panel.web.place import at
from panel.web.printed import sent

pages = Blueprint("keeper", __name__, url_prefix="/keep")

PASSPHRASE = "passphrase"


@pages.get("")
def every() -> ResponseReturnValue:
    """The keys that this person keeps."""
    kept = keep_key.kept(at(), actor())
    return render_template("keeper/every.html", kept=kept, standings=STANDINGS)


def show_key(typed: Typed, comparison: str, **_route: str) -> str:
    """What the key holder can do with one key."""
    return _page(typed, comparison)


@pages.get("/<id:comparison>")
def page(comparison: str) -> ResponseReturnValue:
    """One key: its sheets, its closing."""
    return show_key(FRESH, comparison)


@pages.post("/<id:comparison>/<id:sitting>/<name>.pdf")
@limiter.limit(PASSPHRASES)
@refill(show_key)
def sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One sheet that shows which cup is which, or who is told."""
    with _passphrase(f"{PASSPHRASE}-{sitting}") as words:
        made = print_kit.key_sheet(at(), actor(), comparison, sitting, name, passphrase=words)
    return sent(made)


@pages.post("/<id:comparison>/emergency")
@limiter.limit(PASSPHRASES)
@refill(show_key)
def open_one(comparison: str) -> ResponseReturnValue:
    """Opens one tray, sets it aside and writes it down."""
    number = parse_card_number(request.form.get("card", ""))
    reason = request.form.get("reason", "")
    with _passphrase(f"{PASSPHRASE}-tray") as words:
        opened = emergency.open_one_tray(at(), actor(), comparison, number, reason, words)
    return _page(FRESH, comparison, opened)


@pages.post("/<id:comparison>/close")
@limiter.limit(PASSPHRASES)
@refill(show_key)
def close(comparison: str) -> ResponseReturnValue:
    """Closes the comparison and opens its key."""
    with _passphrase(f"{PASSPHRASE}-close") as words:
        close_and_unseal.close(at(), actor(), comparison, words)
    return redirect(url_for(".page", comparison=comparison))


@pages.post("/<id:comparison>/lock")
@limiter.limit(PASSPHRASES)
@refill(show_key)
def lock(comparison: str) -> ResponseReturnValue:
    """Puts a passphrase on the key."""
    words, again = request.form.get(PASSPHRASE, ""), request.form.get(f"{PASSPHRASE}-again", "")
    lock_key.lock(at(), actor(), comparison, words, again)
    return redirect(url_for(".page", comparison=comparison, _anchor="h-passphrase"))


@pages.post("/<id:comparison>/unlock")
@limiter.limit(PASSPHRASES)
@refill(show_key)
def take_off(comparison: str) -> ResponseReturnValue:
    """Takes the passphrase off again."""
    with _passphrase(f"{PASSPHRASE}-off") as words:
        lock_key.take_off(at(), actor(), comparison, words)
    return redirect(url_for(".page", comparison=comparison, _anchor="h-passphrase"))


def show_envelope(typed: Typed, comparison: str) -> str:
    """What to type from the sealed envelope, or that the key opens as it should."""
    return render_template(
        "keeper/envelope.html",
        typed=typed,
        known=keep_key.kept_one(at(), actor(), comparison),
        opens=recover_key.opens(at(), actor(), comparison),
        locked=lock_key.locked(at(), actor(), comparison),
    )


@pages.get("/<id:comparison>/envelope")
def envelope(comparison: str) -> ResponseReturnValue:
    """The form for a passphrase, or an instance.key, that is lost."""
    return show_envelope(FRESH, comparison)


@pages.post("/<id:comparison>/envelope")
@refill(show_envelope)
def recover(comparison: str) -> ResponseReturnValue:
    """Takes the secret if it makes the seal again."""
    words, dice = request.form.get("words", ""), request.form.get("dice", "")
    recover_key.recover_key(at(), actor(), comparison, words, dice)
    return redirect(url_for(".page", comparison=comparison))


@contextmanager
def _passphrase(field: str) -> Iterator[str]:
    """What was typed into one of the page's passphrase fields; what is refused of it stands there.
    There are several fields, one with each button that needs it."""
    try:
        yield request.form.get(field, "")
    except RefusalsError:
        raise
    except PanelError as refusal:
        if refusal.field != PASSPHRASE:
            raise
        raise PanelError(refusal.code, refusal.message, refusal.fault, field) from refusal


def _page(typed: Typed, comparison: str, opened: OpenedTray | None = None) -> str:
    known = keep_key.kept_one(at(), actor(), comparison)
    shut = known.standing in (Standing.SEALED, Standing.SERVING)
    return render_template(
        "keeper/one.html",
        typed=typed,
        known=known,
        opened=opened,
        standing_word=STANDINGS[known.standing],
        locked=shut and lock_key.locked(at(), actor(), comparison),
        envelope_printed=shut and lock_key.envelope_printed(at(), actor(), comparison),
        kits=[
            (sitting, print_kit.key_contents(at(), actor(), comparison, sitting.id))
            for sitting in known.sittings
            if shut
        ],
        still_open=close_and_unseal.still_open(at(), actor(), comparison) if shut else (),
    )
