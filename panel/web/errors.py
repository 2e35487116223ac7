"""Refusals as pages: the one place where a fault becomes a status.

A refused form is shown again with what was typed and the reasons beside the fields. Where no form
can be shown, a page says what is wrong and what to do; after a POST it carries what was typed, so
that it can be sent again.
"""

import logging

from flask import Flask, g, render_template, request
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException

from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.web.forms import Typed, shown_again, typed
from panel.web.guards import NOT_LET_IN, SIGNED_IN

STATUS: dict[Fault, int] = {
    Fault.INPUT: 422,
    Fault.STANDING: 409,
    Fault.MISSING: 404,
    Fault.FORBIDDEN: 403,
    Fault.CLASH: 409,
    Fault.PLACE: 503,
}
KEEP_TRYING = (429, 500, 503)
"""Statuses after which the same form may well be taken the next time."""

OLD_PAGE = say(
    "This page had been open for a long time, so it was not sent yet. Nothing you typed is lost: "
    "look it over and send it again."
)
SAID: dict[int, tuple[Message, Message]] = {
    400: (
        say("That could not be read"),
        say("What arrived was not a whole form. Go back, load the page again and send it anew."),
    ),
    404: (
        say("There is no such page"),
        say("Check the address. If you scanned a card, scan it again; or ask the steward."),
    ),
    405: (say("Not that way"), say("Go back and use the buttons of the page.")),
    413: (say("That is too large"), say("Send less at once, or a smaller file.")),
    429: (
        say("One moment, please"),
        say("Too much arrived from here at once. Wait a minute, then try again."),
    ),
    500: (
        say("Something went wrong here"),
        say(
            "This is not your fault, and nothing half-done was saved. Try again; if it happens "
            "again, tell the organiser the time."
        ),
    ),
}
TITLES: dict[Fault, Message] = {
    Fault.INPUT: say("That cannot be taken"),
    Fault.STANDING: say("Not at this point"),
    Fault.MISSING: say("Nothing here"),
    Fault.FORBIDDEN: say("This is not open to you"),
    Fault.CLASH: say("Somebody was faster"),
    Fault.PLACE: say("Not just now"),
}

PASSED_ON = ("Allow", "Retry-After")
"""Headers of the framework's own refusals that programs can use."""

log = logging.getLogger("panel.web")


def handle_errors(app: Flask) -> None:
    """Every way in which a request can fail, on the application."""
    app.register_error_handler(PanelError, refused)
    app.register_error_handler(CSRFError, old_page)
    app.register_error_handler(HTTPException, plain_failure)
    app.register_error_handler(Exception, broken)


def refused(refusal: PanelError) -> ResponseReturnValue:
    """The form again with its reasons, or a page with the sentence."""
    status = STATUS[refusal.fault]
    if g.get("let_in", False):  # whoever the guard turned away is shown no form
        try:
            again = shown_again(typed(refusal))
        except PanelError as another:  # the form itself cannot be shown: say why
            refusal, again, status = another, None, STATUS[another.fault]
        if again is not None:
            return again, status
    # A sign-in that ended, a card's cookie that went: what was typed waits until they are back.
    return page(TITLES[refusal.fault], refusal.message, status, refusal.code == NOT_LET_IN)


def old_page(_failure: CSRFError) -> ResponseReturnValue:
    """A form whose token is missing or old comes back filled, with a fresh one; nothing is done."""
    try:
        again = shown_again(typed(notice=OLD_PAGE))
    except PanelError as refusal:
        return page(TITLES[refusal.fault], refusal.message, STATUS[refusal.fault])
    if again is not None:
        return again, 400
    return page(SAID[400][0], OLD_PAGE, 400)


def plain_failure(failure: HTTPException) -> ResponseReturnValue:
    """What the framework refuses, in words."""
    status = failure.code or 500
    if status < 400:
        return failure.get_response()
    title, words = SAID.get(status, SAID[500 if status >= 500 else 400])
    answer = page(title, words, status)
    kept = {name: value for name, value in failure.get_headers() if name in PASSED_ON}
    return (*answer, kept)


def broken(failure: Exception) -> ResponseReturnValue:
    """A defect of ours: logged with its trace, told without."""
    log.error("%s %s", request.method, request.endpoint, exc_info=failure)
    return page(*SAID[500], 500)


def page(
    title: Message, words: Message, status: int, let_in_later: bool = False
) -> tuple[str, int]:
    """A page that says what is wrong and what to do.

    let_in_later: whoever sends this may be let in once they have been to the door.
    """
    again: Typed | None = None
    if request.method == "POST" and (let_in_later or status in KEEP_TRYING):
        again = typed()
    door = again is not None and let_in_later and (request.blueprint or "").startswith(SIGNED_IN)
    return render_template("error.html", title=title, words=words, again=again, door=door), status
