"""The page on which a lost key comes back from the sealed envelope."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.services import lock_key, plan_comparison, recover_key
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_recover", __name__, url_prefix="/organise/<id:comparison>/recover")


def show_form(typed: Typed, comparison: str) -> str:
    """What to type, or that the key opens as it should."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    sealed = known.seal is not None
    return render_template(
        "organiser/recover.html",
        typed=typed,
        known=known,
        opens=sealed and recover_key.opens(at(), actor(), comparison),
        locked=sealed and lock_key.locked(at(), actor(), comparison),
        steps=steps_of(progress_of(at(), actor(), known)),
        here="close",
    )


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """The form."""
    return show_form(FRESH, comparison)


@pages.post("")
@refill(show_form)
def recover(comparison: str) -> ResponseReturnValue:
    """Takes the secret if it makes the seal again."""
    words, dice = request.form.get("words", ""), request.form.get("dice", "")
    recover_key.recover_key(at(), actor(), comparison, words, dice)
    return redirect(url_for("organiser.evening", comparison=comparison, _anchor="close"))
