"""The key holder's pages: the keys they keep, the sheets that show them, the closing.

What shows the key is asked for by a button and comes back to it; nothing of it stands on a page
that can be come back to.
"""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import parse_card_number
from panel.core.names import Standing
from panel.services import close_and_unseal, emergency, keep_key, print_kit
from panel.services.emergency import OpenedTray
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_sentences import STANDINGS
from panel.web.place import at
from panel.web.printed import sent

pages = Blueprint("keeper", __name__, url_prefix="/keep")


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
def sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One sheet that shows which cup is which, or who is told."""
    return sent(print_kit.key_sheet(at(), actor(), comparison, sitting, name))


@pages.post("/<id:comparison>/emergency")
@refill(show_key)
def open_one(comparison: str) -> ResponseReturnValue:
    """Opens one tray, sets it aside and writes it down."""
    number = parse_card_number(request.form.get("card", ""))
    reason = request.form.get("reason", "")
    opened = emergency.open_one_tray(at(), actor(), comparison, number, reason)
    return _page(FRESH, comparison, opened)


@pages.post("/<id:comparison>/close")
@refill(show_key)
def close(comparison: str) -> ResponseReturnValue:
    """Closes the comparison and opens its key."""
    close_and_unseal.close(at(), actor(), comparison)
    return redirect(url_for(".page", comparison=comparison))


def _page(typed: Typed, comparison: str, opened: OpenedTray | None = None) -> str:
    known = keep_key.kept_one(at(), actor(), comparison)
    shut = known.standing in (Standing.SEALED, Standing.SERVING)
    return render_template(
        "keeper/one.html",
        typed=typed,
        known=known,
        opened=opened,
        standing_word=STANDINGS[known.standing],
        kits=[
            (sitting, print_kit.key_contents(at(), actor(), comparison, sitting.id))
            for sitting in known.sittings
            if shut
        ],
        still_open=close_and_unseal.still_open(at(), actor(), comparison) if shut else (),
    )
