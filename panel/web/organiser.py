"""The organiser's start: every comparison and what is next for it; and the evening of one."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.message import Moment
from panel.core.names import SittingStanding
from panel.services import (
    call_off,
    close_and_unseal,
    open_sitting,
    plan_comparison,
    seal_comparison,
    settle_ballots,
)
from panel.services.sitting_counts import sitting_count
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_sentences import STANDINGS
from panel.web.organiser_steps import ballots_in, next_of, progress_of, steps_of
from panel.web.place import at, broken_chains
from panel.web.reach import reach

pages = Blueprint("organiser", __name__, url_prefix="/organise")


@pages.get("")
def comparisons() -> ResponseReturnValue:
    """All comparisons, newest first, each with what is next."""
    now = at().now()
    every = plan_comparison.every(at(), actor())
    return render_template(
        "organiser/comparisons.html",
        entries=[(known, next_of(known, now)) for known in every],
        standings=STANDINGS,
        broken=broken_chains(),
    )


def show_evening(typed: Typed, comparison: str, **_route: str) -> str:
    """The numbered list of steps, with the buttons of those that can be taken now."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    progress = progress_of(at(), actor(), known)
    now = at().now()
    return render_template(
        "organiser/evening.html",
        typed=typed,
        known=known,
        standing_word=STANDINGS[known.standing],
        next=next_of(known, now),
        another_day={one.id: open_sitting.asked_before_opening(one, now) for one in known.sittings},
        zone=known.sittings[0].zone if known.sittings else at().settings.zone,
        held=all(one.standing is SittingStanding.CLOSED for one in known.sittings),
        held_on={
            one.id: Moment(one.starts, one.zone)
            for one in known.sittings
            if one.standing is not SittingStanding.PREPARED and not one.not_held
        },
        progress=progress,
        reach=reach(),
        steps=steps_of(progress),
        amendments=seal_comparison.amendments(at(), actor(), comparison),
    )


@pages.get("/<id:comparison>")
def evening(comparison: str) -> ResponseReturnValue:
    """The comparison as its steps stand now."""
    return show_evening(FRESH, comparison)


@pages.post("/<id:comparison>/sittings/<id:sitting>/open")
@refill(show_evening)
def open_one(comparison: str, sitting: str) -> ResponseReturnValue:
    """Opens a sitting: from now on it takes ballots."""
    another_day = request.form.get("another_day") == "yes"
    open_sitting.open_sitting(at(), actor(), comparison, sitting, another_day=another_day)
    return _back(comparison, f"sitting-{sitting}")


@pages.post("/<id:comparison>/sittings/<id:sitting>/close")
@refill(show_evening)
def close_one(comparison: str, sitting: str) -> ResponseReturnValue:
    """Closes a sitting: later ballots are listed as late."""
    anyway = request.form.get("anyway") == "yes"
    open_sitting.close_sitting(at(), actor(), comparison, sitting, anyway=anyway)
    return _back(comparison, f"sitting-{sitting}")


@pages.post("/<id:comparison>/sittings/<id:sitting>/call-off")
@refill(show_evening)
def call_off_one(comparison: str, sitting: str) -> ResponseReturnValue:
    """Says that a sitting will not take place."""
    call_off.call_off(at(), actor(), comparison, sitting)
    return _back(comparison, f"sitting-{sitting}")


@pages.get("/<id:comparison>/sittings/<id:sitting>/count")
def count(comparison: str, sitting: str) -> ResponseReturnValue:
    """How many ballots are in, as a piece of the page that asks again and again."""
    found = sitting_count(at(), actor(), comparison, sitting)
    return render_template("organiser/count.html", count=found, sentence=ballots_in(found))


@pages.post("/<id:comparison>/close")
@refill(show_evening)
def close(comparison: str) -> ResponseReturnValue:
    """Closes the comparison and opens its key."""
    close_and_unseal.close(at(), actor(), comparison)
    return redirect(url_for("organiser_findings.page", comparison=comparison))


@pages.post("/<id:comparison>/set-aside-rest")
@refill(show_evening)
def set_aside_rest(comparison: str) -> ResponseReturnValue:
    """Sets every tray without a ballot aside."""
    settle_ballots.set_aside_rest(at(), actor(), comparison)
    return _back(comparison, "close")


@pages.post("/<id:comparison>/amend")
@refill(show_evening)
def amend(comparison: str) -> ResponseReturnValue:
    """Writes an amendment beside the sealed plan."""
    what, reason = request.form.get("what", ""), request.form.get("reason", "")
    seal_comparison.amend(at(), actor(), comparison, what, reason)
    return _back(comparison, "amendments")


def _back(comparison: str, anchor: str) -> ResponseReturnValue:
    return redirect(url_for(".evening", comparison=comparison, _anchor=anchor))
