"""The door: the first person's set-up, signing in and out, a link for those who serve, a card.

A link is opened by a button, never by the opening of its page: mail programs and phones look at
links before people do.
"""

from flask import Blueprint, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug import Response

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role
from panel.services import invite, keep_key, sign_in, take_ballot
from panel.services.workplace import Actor
from panel.web import cookies
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import own_path, signed_in
from panel.web.limits import SIGN_INS, WRONG_SHORT_CODES, limiter, was_refused
from panel.web.place import at

pages = Blueprint("door", __name__)

ORGANISE, KEEP = "/organise", "/keep"
"""Where an organiser and a key holder start who asked for no page in particular."""
EVENING = 18 * 3600
"""Seconds a pass's cookie is kept: longer than any evening; the service ends the pass itself."""
CARD_KEPT = 14 * 24 * 3600
"""Seconds a card stays open on a phone: a parcel's taster may take a week."""


# --- organisers ----------------------------------------------------------------------------------


def show_set_up(typed: Typed, token: str) -> str:
    """The form in which the first organiser chooses name and password."""
    return render_template("door/set_up.html", typed=typed, token=token)


@pages.get("/set-up/<token>")
def set_up_page(token: str) -> ResponseReturnValue:
    """What the link from the machine's own window opens."""
    return show_set_up(FRESH, token)


@pages.post("/set-up/<token>")
@refill(show_set_up)
@limiter.limit(SIGN_INS)
def set_up(token: str) -> ResponseReturnValue:
    """Makes the organiser and signs them in."""
    _same_twice()
    name, password = request.form.get("name", ""), request.form.get("password", "")
    return _let_in(sign_in.set_up(at(), token, name, password), ORGANISE)


def show_sign_in(typed: Typed) -> str:
    """The sign-in form; `onward` is the page that was asked for."""
    onward = own_path(typed.value("onward", request.args.get("onward", ORGANISE)))
    return render_template("door/sign_in.html", typed=typed, onward=onward)


@pages.get("/sign-in")
def sign_in_page() -> ResponseReturnValue:
    """The form, or onwards if somebody is signed in already."""
    who = signed_in()
    if who is not None:
        return redirect(_start(who, request.args.get("onward", "")))
    return show_sign_in(FRESH)


@pages.post("/sign-in")
@refill(show_sign_in)
@limiter.limit(SIGN_INS)
def sign_in_now() -> ResponseReturnValue:
    """Signs in; a new token each time."""
    name, password = request.form.get("name", ""), request.form.get("password", "")
    token = sign_in.sign_in(at(), name, password)
    who = sign_in.person_of(at(), token)
    return _let_in(token, _start(who, request.form.get("onward", "")))


@pages.post("/sign-out")
def sign_out() -> ResponseReturnValue:
    """Shuts the sign-in on the server, not only on this browser."""
    token = cookies.cookie(cookies.SIGN_IN)
    if token:
        sign_in.sign_out(at(), token)
    response = redirect(url_for("public.front"))
    cookies.drop_cookie(response, cookies.SIGN_IN)
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


def _start(who: Actor | None, onward: str) -> str:
    """Where somebody goes on to who has signed in: a key holder has a place of their own, and
    would be turned away from the organiser's."""
    keeps = who is not None and who.role is Role.KEY_HOLDER
    if keeps and not onward.startswith(KEEP):
        return KEEP
    return own_path(onward or ORGANISE)


def _same_twice() -> None:
    if request.form.get("password", "") != request.form.get("password_again", ""):
        raise PanelError(
            "passwords-differ",
            say("The two passwords are not the same. Type both again."),
            field="password_again",
        )


def _let_in(token: str, onward: str) -> Response:
    before = cookies.cookie(cookies.SIGN_IN)
    if before:
        sign_in.sign_out(at(), before)  # one browser, one sign-in
    response = redirect(own_path(onward))
    # Until the browser is closed, and never longer than the service allows.
    cookies.set_cookie(response, cookies.SIGN_IN, token)
    return response


# --- those who serve -----------------------------------------------------------------------------


def show_pass(typed: Typed, token: str) -> str:
    """A page with one button, which spends the link; a key holder's asks for name and password."""
    if invite.role_of(at(), token) is Role.KEY_HOLDER:
        return render_template("door/keeper.html", typed=typed, token=token)
    return render_template("door/link.html", typed=typed, token=token)


@pages.get("/in/<token>")
def pass_page(token: str) -> ResponseReturnValue:
    """What a link for a steward, pourer or key holder opens."""
    return show_pass(FRESH, token)


@pages.post("/in/<token>")
@refill(show_pass)
@limiter.limit(SIGN_INS)
def open_pass(token: str) -> ResponseReturnValue:
    """Opens the pass on this phone, and goes to where its holder works."""
    fresh = invite.accept(at(), token)
    holder = sign_in.person_of(at(), fresh)
    if holder is None:
        raise PanelError(
            "pass-over",
            say("This pass has ended. Ask the organiser for a new link."),
            Fault.MISSING,
        )
    name, place = _workplace_of(holder)
    response = redirect(place)
    cookies.set_cookie(response, name, fresh, EVENING)
    return response


@pages.post("/in/<token>/key")
@refill(show_pass)
@limiter.limit(SIGN_INS)
def take_up(token: str) -> ResponseReturnValue:
    """Makes the key holder's account, or finds it, and signs them in."""
    name, password = request.form.get("name", ""), request.form.get("password", "")
    return _let_in(keep_key.take_up(at(), token, name, password), KEEP)


def _workplace_of(holder: Actor) -> tuple[str, str]:
    """The cookie that keeps a pass, and the page its holder starts from."""
    comparison, sitting = holder.comparison, holder.sitting
    match holder.role:
        case Role.POURER:
            place = url_for("pourer.waves", comparison=comparison, sitting=sitting)
            return cookies.POURER, place
        case _:
            place = url_for("steward.board", comparison=comparison, sitting=sitting)
            return cookies.STEWARD, place


# --- cards ---------------------------------------------------------------------------------------


@pages.get("/<token:token>")
def card(token: str) -> ResponseReturnValue:
    """The address in a card's QR code: opens its ballot, and the token leaves the address bar."""
    return _open(take_ballot.open_card(at(), token))


def show_short_code(typed: Typed) -> str:
    """The form for the eight characters under a card's code."""
    return render_template("door/card.html", typed=typed)


@pages.get("/card")
def short_code_page() -> ResponseReturnValue:
    """For phones that cannot read the code."""
    return show_short_code(FRESH)


@pages.post("/card")
@refill(show_short_code)
@limiter.limit(WRONG_SHORT_CODES, deduct_when=was_refused)
def short_code() -> ResponseReturnValue:
    """Opens the ballot of the card with these eight characters."""
    code = "".join(letter for letter in request.form.get("code", "") if letter.isalnum())
    if not code:
        raise PanelError(
            "no-short-code",
            say("Type the eight characters that stand under the square code on your card."),
            field="code",
        )
    return _open(take_ballot.open_short_code(at(), code))


def _open(ref: str) -> Response:
    response = make_response(redirect(url_for("taster.ballot", ref=ref)))
    path = url_for("taster.ballot", ref=ref)
    cookies.set_cookie(response, cookies.TRAY, cookies.tray_proof(ref), CARD_KEPT, path)
    return response
