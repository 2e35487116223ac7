"""Another password for whoever is signed in: the old one is asked first, and other sign-ins end."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.services import sign_in
from panel.services.workplace import Actor
from panel.web import cookies
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import signed_in
from panel.web.limits import SIGN_INS, limiter
from panel.web.place import at

pages = Blueprint("door_password", __name__, url_prefix="/password")


def show_password(typed: Typed) -> str:
    """The form for the old password and the new one."""
    return render_template("door/password.html", typed=typed, done=request.args.get("done"))


@pages.get("")
def page() -> ResponseReturnValue:
    """For those who are signed in; the others go to the door first."""
    if signed_in() is None:
        return redirect(url_for("door.sign_in_page", onward=url_for(".page")))
    return show_password(FRESH)


@pages.post("")
@refill(show_password)
@limiter.limit(SIGN_INS)
def change() -> ResponseReturnValue:
    """Takes the new password if the old one is right."""
    if request.form.get("password", "") != request.form.get("password_again", ""):
        raise PanelError(
            "passwords-differ",
            say("The two passwords are not the same. Type both again."),
            field="password_again",
        )
    token = cookies.cookie(cookies.SIGN_IN)
    old, new = request.form.get("password_now", ""), request.form.get("password", "")
    sign_in.change_password(at(), _who(), token, old, new)
    return redirect(url_for(".page", done="yes"))


def _who() -> Actor:
    who = signed_in()
    if who is None:
        raise PanelError(
            "not-signed-in",
            say("You are not signed in, or not any more. Sign in first."),
            Fault.FORBIDDEN,
        )
    return who
