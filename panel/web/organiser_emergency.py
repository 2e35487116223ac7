"""One tray opened in an emergency, within three actions from the evening's page.

The answer comes back to the press of the button and stands at no address: it cannot be come back
to, shared or found in the browser's history.
"""

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import parse_card_number
from panel.services import emergency, plan_comparison
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_emergency", __name__, url_prefix="/organise/<id:comparison>/emergency")


def show_form(typed: Typed, comparison: str) -> str:
    """Which card, and why."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    steps = steps_of(progress_of(at(), actor(), known))
    return render_template(
        "organiser/emergency.html",
        typed=typed,
        known=known,
        steps=steps,
        here="sitting",
        opened=None,
    )


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """An empty form."""
    return show_form(FRESH, comparison)


@pages.post("")
@refill(show_form)
def open_one(comparison: str) -> ResponseReturnValue:
    """Opens that one tray, sets it aside and writes it down."""
    number = parse_card_number(request.form.get("card", ""))
    reason = request.form.get("reason", "")
    opened = emergency.open_one_tray(at(), actor(), comparison, number, reason)
    known = plan_comparison.comparison(at(), actor(), comparison)
    return render_template(
        "organiser/emergency.html",
        typed=FRESH,
        known=known,
        steps=steps_of(progress_of(at(), actor(), known)),
        here="sitting",
        opened=opened,
    )
