"""The taster's ballot on a phone: what I knew, the cups, the rest, read it over, send, receipt.

Without a script every step is a form of its own, and what was answered so far travels in a cookie
of that tray; with one (static/keep.js) all steps are in the page and only the ballot is sent. A
GET writes nothing, and no page says anything that depends on the order of the cups.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from markupsafe import escape
from werkzeug import Response
from werkzeug.datastructures import MultiDict

from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import SittingStanding, Smell, Standing
from panel.core.questions import Answer, Question
from panel.services import own_result, take_ballot, the_room
from panel.services.take_ballot import TasterView
from panel.web import cookies
from panel.web.answers import (
    OVER,
    PREFIX,
    Step,
    answers_in,
    fields_of,
    in_words,
    is_code,
    steps_of,
    unanswered,
)
from panel.web.first_choice import STANDS, first_choice, shown_first, with_first
from panel.web.forms import Typed, refill, typed
from panel.web.language import speak_in
from panel.web.limits import count_ballot
from panel.web.place import at

pages = Blueprint("taster", __name__, url_prefix="/t/<ref:ref>")

KEY_LENGTHS = range(16, 65)


@dataclass(frozen=True)
class Line:
    """One line of the read-over: a question, its answer in words, and the step it is asked in."""

    question: Question
    step: str
    answer: tuple[Message | str, ...]
    large: bool


# --- pages ---------------------------------------------------------------------------------------


@pages.get("")
def ballot(ref: str) -> ResponseReturnValue:
    """Where the card's link leads: the ballot, its receipt, or what stands in the way of both."""
    view = _view(ref)
    page = _instead(view, late=request.args.get("late") == "yes")
    if page is not None:
        return _state(view, page)
    if view.receipt is not None and not request.args.get("at"):
        return redirect(url_for(".receipt", ref=ref))
    return _form(view, _drafted(ref), request.args.get("at", ""))


@pages.get("/change")
def change(ref: str) -> ResponseReturnValue:
    """The ballot again with what was sent, until the sitting closes."""
    view = _view(ref)
    page = _instead(view)
    if page is not None or view.receipt is None or own_result.own_result(at(), ref) is not None:
        return redirect(url_for(".ballot", ref=ref))
    return _form(view, Typed(fields_of(view.answers, view.questions)), "")


@pages.get("/receipt")
def receipt(ref: str) -> ResponseReturnValue:
    """What was saved, when, and until when it can be changed."""
    view = _view(ref)
    if view.standing is Standing.PUBLISHED or view.receipt is None:
        return redirect(url_for(".ballot", ref=ref))
    return _state(view, "receipt")


def show_again(kept: Typed, ref: str) -> str:
    """The ballot with what was typed, at the step where something is missing."""
    view = _view(ref)
    page = _instead(view, late=True)
    return _form(view, kept, kept.value("step")) if page is None else _state(view, page)


@pages.post("")
@refill(show_again)
def step(ref: str) -> ResponseReturnValue:
    """One step of a ballot without a script: checked, remembered, and on to the next."""
    view = _view(ref)
    names = [one.name for one in steps_of(view.questions)] + [OVER]
    here = request.form.get("step", "")
    place = names.index(here) if here in names else 0
    wanted = request.form.get("to", "")
    if wanted not in names:
        _require(view, names[place])
        wanted = names[min(place + 1, len(names) - 1)]
    response = redirect(url_for(".ballot", ref=ref, at=wanted, late=request.args.get("late")))
    twice = view.smell is Smell.FIRST
    return _remember(response, ref, names[place] if twice else "", wanted)


@pages.post("/send")
@refill(show_again)
def send(ref: str) -> ResponseReturnValue:
    """Takes the ballot. Sent twice it counts once."""
    count_ballot(ref)
    key = request.form.get("key", "")
    if len(key) not in KEY_LENGTHS:
        raise PanelError(
            "no-form-key", say("This page was not whole. Look your answers over and send them.")
        )
    words: MultiDict[str, str] = MultiDict(with_first(typed().words, _drafted(ref)))
    take_ballot.take_phone(at(), ref, answers_in(words), key)
    response = redirect(url_for(".receipt", ref=ref))
    if cookies.cookie(cookies.DRAFT):
        cookies.drop_cookie(response, cookies.DRAFT, _path(ref))
    return response


@pages.post("/open")
def open_own(ref: str) -> ResponseReturnValue:
    """Opens one's own answer before the end, in parcels and repeat trials: then it is final."""
    own_result.open_own_answer(at(), ref)
    return redirect(url_for(".receipt", ref=ref))


@pages.post("/leave")
def leave(ref: str) -> ResponseReturnValue:
    """Makes a borrowed phone forget this card."""
    response = redirect(url_for("door.short_code_page"))
    for name in (cookies.TRAY, cookies.DRAFT):
        cookies.drop_cookie(response, name, _path(ref))
    response.headers["Clear-Site-Data"] = '"cache", "storage"'
    return response


# --- what they show ------------------------------------------------------------------------------


def _view(ref: str) -> TasterView:
    view = take_ballot.taster_view(at(), ref, weight)
    speak_in(view.language)
    return view


def weight(words: str) -> int:
    """Bytes that words take in a page. Markup counts as it stands, words as they are escaped."""
    return len(escape(words).encode())


def _instead(view: TasterView, late: bool = False) -> str | None:
    """The page that is shown where no ballot can be filled in; None where one can."""
    if view.standing is Standing.PUBLISHED:
        return "published"
    if view.called_off:
        return "called_off"
    if view.set_aside:
        return "set_aside"
    if view.sitting_standing is SittingStanding.PREPARED:
        return "early"
    if view.sitting_standing is SittingStanding.CLOSED and not (late and view.receipt is None):
        return "closed"
    return None


def _state(view: TasterView, page: str) -> str:
    opened = own_result.own_result(at(), view.ref)
    return render_template(
        f"taster/{page}.html",
        view=view,
        method=method_named(view.method),
        lines=_lines(view, view.answers),
        own=opened,
        room=the_room.room(at(), view.ref) if page == "published" else None,
        may_open=opened is None and own_result.may_open_early(at(), view.ref),
    )


def _form(view: TasterView, kept: Typed, wanted: str) -> str:
    """The ballot's page; `wanted` names its first visible step."""
    steps = steps_of(view.questions)
    here = _step_with_refusal(steps, kept) or wanted
    if here not in [one.name for one in steps] + [OVER]:
        here = steps[0].name
    key = kept.value("key") if not kept.refusals else ""
    first = first_choice(view, kept)
    kept = shown_first(kept, first)
    return render_template(
        "taster/ballot.html",
        view=view,
        method=method_named(view.method),
        typed=kept,
        steps=steps,
        here=here,
        key=key or at().entropy(16).hex(),
        lines=_lines(view, _answers(kept)),
        unanswered=unanswered(view.questions, view.codes),
        first=first,
        weight=weight,
    )


def _lines(view: TasterView, answers: Mapping[str, Answer]) -> tuple[Line, ...]:
    return tuple(
        Line(
            question, step.name, in_words(question, answers.get(question.id, ())), is_code(question)
        )
        for step in steps_of(view.questions)
        for question in step.questions
    )


def _answers(kept: Typed) -> dict[str, Answer]:
    answers: dict[str, Answer] = {}
    for name, words in kept.words.items():
        if name.startswith(PREFIX):
            question = name.removeprefix(PREFIX).partition(":")[0]
            given = tuple(word for word in words if word.strip())
            answers[question] = answers.get(question, ()) + given
    return answers


def _step_with_refusal(steps: tuple[Step, ...], kept: Typed) -> str:
    wrong = {refusal.field for refusal in kept.refusals}
    for one in steps:
        if any(question.id in wrong for question in one.questions):
            return one.name
    return ""


def _require(view: TasterView, name: str) -> None:
    """RefusalsError if a question of that step, or of one before it, is not rightly answered."""
    names = [one.name for one in steps_of(view.questions)]
    until = names.index(name) + 1 if name in names else len(names)
    asked = {question.id for one in steps_of(view.questions)[:until] for question in one.questions}
    try:
        take_ballot.check_phone(at(), view.ref, answers_in(request.form))
    except RefusalsError as refusals:
        now = tuple(one for one in refusals.refusals if one.field in asked)
        if now:
            raise RefusalsError(now) from refusals


# --- what is remembered between steps ------------------------------------------------------------


def _path(ref: str) -> str:
    return url_for("taster.ballot", ref=ref)


def _remember(response: Response, ref: str, leaves: str, to: str) -> Response:
    kept = {
        name: words
        for name, words in with_first(typed().words, _drafted(ref), leaves, to).items()
        if name.startswith(PREFIX) or name in ("key", STANDS)
    }
    words = cookies.sealed_words(f"draft {ref}", kept)
    cookies.set_cookie(response, cookies.DRAFT, words, path=_path(ref))
    return response


def _drafted(ref: str) -> Typed:
    return Typed(cookies.opened_words(f"draft {ref}", cookies.cookie(cookies.DRAFT)))
