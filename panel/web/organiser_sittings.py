"""Further sittings: added to a draft, changed or taken out of it; or added after sealing, where
the plan foresaw that."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core import lifecycle
from panel.core.comparison import Comparison, Sitting
from panel.core.names import Standing
from panel.services import plan_comparison, seal_comparison
from panel.services.plan_comparison import SittingDraft
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_reading import Reading
from panel.web.organiser_sentences import sitting_sentences
from panel.web.organiser_sitting_form import fresh_sitting, sitting_read, words_of_sitting
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_sittings", __name__, url_prefix="/organise/<id:comparison>/sittings")


def show_new(typed: Typed, comparison: str) -> str:
    """The form of one more sitting."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    if known.standing is not Standing.DRAFTED:
        lifecycle.require("add sitting", known.standing)
    if not typed.sent:
        last = known.sittings[-1] if known.sittings else None
        typed = Typed(fresh_sitting(at().settings, last))
    return _form(typed, known, None)


@pages.get("/new")
def new(comparison: str) -> ResponseReturnValue:
    """An empty form."""
    return show_new(FRESH, comparison)


@pages.post("/new")
@refill(show_new)
def add(comparison: str) -> ResponseReturnValue:
    """Keeps the sitting; in a sealed comparison its trays are drawn at once."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    draft = _read()
    if known.standing is Standing.DRAFTED:
        plan_comparison.add_sitting(at(), actor(), comparison, draft)
        return redirect(url_for("organiser_check.page", comparison=comparison))
    added = seal_comparison.add_sitting_after_seal(at(), actor(), comparison, draft)
    return redirect(
        url_for("organiser.evening", comparison=comparison, _anchor=f"sitting-{added.id}")
    )


def show_sitting(typed: Typed, comparison: str, sitting: str) -> str:
    """The form of a sitting of a draft."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    lifecycle.require("edit", known.standing)
    chosen = plan_comparison.sitting_of(known, sitting)
    return _form(typed if typed.sent else Typed(words_of_sitting(chosen)), known, chosen)


@pages.get("/<id:sitting>")
def page(comparison: str, sitting: str) -> ResponseReturnValue:
    """The sitting as it is kept."""
    return show_sitting(FRESH, comparison, sitting)


@pages.post("/<id:sitting>")
@refill(show_sitting)
def save(comparison: str, sitting: str) -> ResponseReturnValue:
    """Keeps what was changed."""
    plan_comparison.save_sitting(at(), actor(), comparison, sitting, _read())
    return redirect(url_for("organiser_check.page", comparison=comparison))


@pages.post("/<id:sitting>/remove")
@refill(show_sitting)
def remove(comparison: str, sitting: str) -> ResponseReturnValue:
    """Takes the sitting out of the draft."""
    plan_comparison.remove_sitting(at(), actor(), comparison, sitting)
    return redirect(url_for("organiser_check.page", comparison=comparison))


def _read() -> SittingDraft:
    reading = Reading(request.form.to_dict(flat=False))
    draft = sitting_read(reading)
    reading.done()
    return draft


def _form(typed: Typed, known: Comparison, sitting: Sitting | None) -> str:
    return render_template(
        "organiser/sitting.html",
        typed=typed,
        known=known,
        sitting=sitting,
        steps=steps_of(progress_of(at(), actor(), known)),
        here="sitting",
        **sitting_sentences(typed),
    )
