"""A foretaste of a plan: made-up tasters, before anything is printed."""

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from panel.catalogue import speaker
from panel.core.methods import method_named
from panel.core.wording.foretaste import say_evening, say_how_often, say_lead, say_truth
from panel.services import foretaste, plan_comparison
from panel.web.guards import actor
from panel.web.language import language
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_foretaste", __name__, url_prefix="/organise/<id:comparison>")

EVENINGS = 1000
"""So many others can be looked at; then they come again."""


@pages.get("/foretaste")
def page(comparison: str) -> ResponseReturnValue:
    """Four worlds, an evening in each."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    evening = (request.args.get("evening", 1, type=int) or 1) % EVENINGS
    tasted = foretaste.taste(at(), actor(), comparison, evening, speaker(language()))
    rule = tasted.foretaste.rule if tasted else None
    return render_template(
        "organiser/foretaste.html",
        known=known,
        steps=steps_of(progress_of(at(), actor(), known)),
        here="seal",
        method=method_named(known.plan.method),
        lead=say_lead(tasted.foretaste) if tasted else None,
        worlds=[
            {
                "truth": say_truth(world.evening, rule),
                "sentences": (
                    *say_evening(world.evening, rule),
                    say_how_often(world.evening, rule),
                ),
                "figure": world.figure,
            }
            for world in (tasted.worlds if tasted else ())
            if rule is not None
        ],
        following=evening + 1,
    )
