"""The findings, once the key is open, and their publication."""

from flask import Blueprint, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from panel.catalogue import speaker
from panel.services import plan_comparison, publish, show_result
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.language import language
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at
from panel.web.printed import sent

pages = Blueprint("organiser_findings", __name__, url_prefix="/organise/<id:comparison>")


def show_findings(typed: Typed, comparison: str) -> str:
    """The result as members will read it."""
    article = show_result.article(at(), actor(), comparison, speaker(language()))
    known = plan_comparison.comparison(at(), actor(), comparison)
    return render_template(
        "organiser/findings.html",
        typed=typed,
        known=known,
        article=Markup(article),  # escaped where it was written
        steps=steps_of(progress_of(at(), actor(), known)),
        here="findings",
    )


@pages.get("/findings")
def page(comparison: str) -> ResponseReturnValue:
    """The findings of a closed comparison."""
    return show_findings(FRESH, comparison)


@pages.get("/report.pdf")
def report(comparison: str) -> ResponseReturnValue:
    """The report, marked as a draft until it is published."""
    return sent(show_result.report(at(), actor(), comparison))


@pages.post("/publish")
@refill(show_findings)
def publish_now(comparison: str) -> ResponseReturnValue:
    """Makes result and opened seal public for good."""
    publish.publish(at(), actor(), comparison)
    return redirect(url_for(".page", comparison=comparison, _anchor="publish"))
