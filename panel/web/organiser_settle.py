"""Questions that only a person can settle: copies of one ballot that say different things.

Codes and answers are seen here, never a beer: whoever settles does not know who would be right.
"""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import card_number
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.methods import method_named
from panel.core.names import Channel
from panel.core.questions import Words
from panel.core.side_questions import ballot_questions
from panel.services import settle_ballots
from panel.web.answers import in_words, is_code
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_settle", __name__, url_prefix="/organise/<id:comparison>/questions")


CHANNELS = {
    Channel.PHONE: say("By phone"),
    Channel.KEYED: say("Keyed in from the card"),
    Channel.SCANNED: say("Read from the card"),
    Channel.IMPORTED: say("Brought in from elsewhere"),
}


def show_questions(typed: Typed, comparison: str, **_route: int) -> str:
    """Every open question with its copies side by side."""
    open_things = settle_ballots.outstanding(at(), actor(), comparison)
    known = open_things.comparison
    asked = ballot_questions(method_named(known.plan.method), known.plan)
    return render_template(
        "organiser/questions.html",
        typed=typed,
        known=known,
        open_things=open_things,
        asked=[question for question in asked if not isinstance(question, Words)],
        sittings={sitting.id: sitting for sitting in known.sittings},
        channels=CHANNELS,
        card_number=card_number,
        in_words=in_words,
        is_code=is_code,
        steps=steps_of(progress_of(at(), actor(), known)),
        here="settle",
    )


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """What is in question now."""
    return show_questions(FRESH, comparison)


@pages.post("/<int:number>")
@refill(show_questions)
def settle(comparison: str, number: int) -> ResponseReturnValue:
    """Takes one of the copies as the ballot."""
    revision = request.form.get("revision", "")
    if not revision.isdecimal():
        raise PanelError(
            "no-copy-chosen", say("Choose which copy counts."), field=f"question-{number}"
        )
    seen = request.form.get("seen", "")
    settle_ballots.settle(
        at(),
        actor(),
        comparison,
        number,
        int(revision),
        int(seen) if seen.isdecimal() else None,
    )
    return redirect(url_for(".page", comparison=comparison))
