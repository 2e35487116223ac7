"""The first page of a comparison: the question, who helps, how it is served, the first sitting."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core import lifecycle
from panel.core.alcohol import UNITS
from panel.core.blinding import blinding_given, recipe
from panel.core.comparison import Comparison
from panel.core.message import say
from panel.core.methods import METHODS
from panel.core.names import Helpers
from panel.core.plan_document import mark_of
from panel.services import archive, plan_comparison
from panel.services.plan_comparison import Draft, SittingDraft
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.language import spoken
from panel.web.organiser_question_form import draft_read, fresh_question, words_of_question
from panel.web.organiser_reading import Reading
from panel.web.organiser_sentences import question_sentences, sitting_sentences
from panel.web.organiser_several import cups_offered
from panel.web.organiser_sitting_form import (
    LEFT_OPEN,
    fresh_sitting,
    is_left_open,
    sitting_read,
    words_of_sitting,
)
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

_REST = (
    *("attribute", "stronger", "lingers", "method", "reference", "no_preference", "alpha", "beta"),
    *("ask_sure", "ask_went_by", "ask_prefer", "ask_words"),
    *("join_sittings", "further_sittings", "wave_size"),
    *("smell", "deciding_step", "swallow", "retaste"),
    *("container_millilitres", "minimum_age", "country"),
)
"""Fields that a newcomer leaves alone: folded together while they stand as usual."""
_SITTING = (*LEFT_OPEN, "kind", "information", "zone", "language", "paper", "groups_drawn")

pages = Blueprint("organiser_question", __name__, url_prefix="/organise")


def show_new(typed: Typed) -> str:
    """The form of a comparison that is not kept yet."""
    settings = at().settings
    # What is poured is a word of the page's language: it stands on cards and is read aloud.
    drink = {"drink": [spoken(say("beer"))]}
    fresh = {**fresh_question(settings), **fresh_sitting(settings), **drink}
    return _form(typed if typed.sent else Typed(fresh), None, url_for(".start"))


@pages.get("/new")
def new() -> ResponseReturnValue:
    """An empty form."""
    return show_new(FRESH)


@pages.post("/new")
@refill(show_new)
def start() -> ResponseReturnValue:
    """Keeps the draft with its first sitting."""
    draft, sitting = _read()
    started = plan_comparison.start_draft(at(), actor(), draft, sitting)
    return redirect(url_for("organiser_check.page", comparison=started.id))


def show_question(typed: Typed, comparison: str) -> str:
    """The form of a draft."""
    known = _draft(comparison)
    if not typed.sent:
        first = known.sittings[0] if known.sittings else None
        sitting = words_of_sitting(first) if first else fresh_sitting(at().settings)
        typed = Typed({**words_of_question(known), **sitting})
    return _form(typed, known, url_for(".save", comparison=comparison))


@pages.get("/<id:comparison>/question")
def page(comparison: str) -> ResponseReturnValue:
    """The draft as it is kept."""
    return show_question(FRESH, comparison)


@pages.post("/<id:comparison>/question")
@refill(show_question)
def save(comparison: str) -> ResponseReturnValue:
    """Keeps what was changed."""
    known = _draft(comparison)
    others = sum(sitting.planned for sitting in known.sittings[1:])
    draft, sitting = _read(others, must_have_sitting=bool(known.sittings))
    plan_comparison.save_draft(
        at(), actor(), comparison, draft, sitting, request.form.get("seen", "")
    )
    return redirect(url_for("organiser_check.page", comparison=comparison))


def _draft(comparison: str) -> Comparison:
    """The comparison, if its question can still be changed."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    lifecycle.require("edit", known.standing)
    return known


def _read(others: int = 0, must_have_sitting: bool = False) -> tuple[Draft, SittingDraft | None]:
    """Draft and first sitting of this request's form. `others`: trays planned at other sittings."""
    words = request.form.to_dict(flat=False)
    of_question, of_sitting = Reading(words), Reading(words)
    sitting = None
    if must_have_sitting or not is_left_open(words):
        sitting = sitting_read(of_sitting)
    draft = draft_read(of_question, others + (sitting.planned if sitting else 0))
    of_question.refusals += of_sitting.refusals
    of_question.done()
    return draft, sitting


def _unusual(typed: Typed) -> bool:
    """Whether something that is folded away is not as usual, or was refused."""
    usual = Typed(fresh_question(at().settings))
    return any(typed.value(name) != usual.value(name) or typed.errors(name) for name in _REST)


def _sitting_begun(typed: Typed) -> bool:
    """Whether something of the first sitting was written, or refused."""
    return not is_left_open(typed.words) or any(typed.errors(name) for name in _SITTING)


def _form(typed: Typed, known: Comparison | None, action: str) -> str:
    steps = steps_of(progress_of(at(), actor(), known)) if known else ()
    return render_template(
        "organiser/question.html",
        typed=typed,
        known=known,
        seen=mark_of(known) if known else "",
        action=action,
        variables=archive.variables(at()),
        steps=steps,
        here="question",
        methods=METHODS.values(),
        helpers=[(one, blinding_given(one)[1], recipe(one)) for one in Helpers],
        unusual=_unusual(typed),
        sitting_open=_sitting_begun(typed),
        units=[(name, unit.name) for name, unit in UNITS.items()],
        cups_offered=cups_offered(),
        **question_sentences(typed, known.plan.method if known else None),
        **sitting_sentences(typed),
    )
