"""The second page of a comparison: what the plan can answer, what to bring, what is missing, and
the seal."""

from dataclasses import dataclass

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.catalogue import speaker
from panel.core.allocation.seal import seal_text
from panel.core.blinding import blinding_of, recipe
from panel.core.comparison import Comparison
from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, Number, Share, say, say_n
from panel.core.methods import Ranking, method_named
from panel.core.names import Standing
from panel.core.plan_document import mark_of
from panel.core.quantities import SPARE_TRAYS, known_cups, pouring_advice
from panel.core.readiness import Obstacle
from panel.core.recommendation import easier, recommend
from panel.core.turnout import only_repeats
from panel.services import plan_comparison, seal_comparison
from panel.services.draw_plan import power_figure
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.language import language
from panel.web.organiser_sentences import AIMS, AIMS_OF_SEVERAL
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_check", __name__, url_prefix="/organise/<id:comparison>")

ANCHORS = {
    "beers": "beer_a_name",
    "abv": "beer_a_abv",
    "starts": "date",
    "tasters": "planned",
    "sides": "method",
    "sittings": "sitting_name",
    "d_prime": "d_prime",
}
"""Where a form has another name for what is missing."""

OF_A_SITTING = frozenset({"sitting_name", "place", "planned", "starts", "told", "sittings"})


@dataclass(frozen=True)
class Missing:
    """One thing to mend, and the field of the form in which it is mended."""

    message: Message
    address: str


def show_check(typed: Typed, comparison: str) -> str:
    """What a draft can answer and still lacks, or what was sealed."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    progress = progress_of(at(), actor(), known)
    found = progress.readiness
    forecast = plan_comparison.forecast(at(), actor(), comparison)
    method = method_named(known.plan.method)
    advised = recommend(known.plan, millilitres=known.serving.millilitres)
    return render_template(
        "organiser/check.html",
        typed=typed,
        known=known,
        seen=mark_of(known),
        one_taster=only_repeats(known),
        lock=_lock(known),
        steps=steps_of(progress),
        here="seal",
        outlook=forecast.outlook,
        needs=forecast.quantities,
        spare_trays=SPARE_TRAYS,
        pouring=(*pouring_advice(forecast.quantities, known.drink), *known_cups(known)),
        power=power_figure(known, forecast.outlook, speaker(language())),
        aim=(AIMS if known.plan.drinks <= 2 else AIMS_OF_SEVERAL)[known.plan.aim],
        risks=[
            say("%(share)s", share=Share(float(risk), 1 if risk * 1000 % 10 else 0))
            for risk in (known.plan.alpha, known.plan.beta)
        ],
        method=method,
        advised=advised,
        easier=None if forecast.outlook.can_answer else easier(known.plan, advised),
        advised_name=method_named(advised.method).name,
        sitting_names={sitting.id: sitting.name for sitting in known.sittings},
        litres=_litres,
        minutes=_minutes,
        blinding=blinding_of(known.helpers, known.duties)[1],
        recipe=recipe(known.helpers, known.plan.smell, ordered=isinstance(method, Ranking)),
        blocking=_each(known, found.blocking if found else ()),
        advice=_each(known, found.advice if found else ()),
        leaks=[
            (leak, Missing(leak.sentence(), _mended(known, leak.field)))
            for leak in (found.leaks if found else ())
        ],
    )


@pages.get("/check")
def page(comparison: str) -> ResponseReturnValue:
    """The check of a draft."""
    return show_check(FRESH, comparison)


@pages.post("/method")
@refill(show_check)
def take_method(comparison: str) -> ResponseReturnValue:
    """Takes another test for the same question."""
    asked = request.form
    plan_comparison.change_method(
        at(), actor(), comparison, asked.get("method", ""), asked.get("seen", "")
    )
    return redirect(url_for(".page", comparison=comparison))


@pages.post("/seal")
@refill(show_check)
def seal(comparison: str) -> ResponseReturnValue:
    """Locks the plan, draws every tray and publishes the seal."""
    asked = request.form
    try:
        seal_comparison.seal(
            at(),
            actor(),
            comparison,
            asked.get("waiver", ""),
            seen=asked.get("seen", ""),
            dice=asked.get("dice", ""),
        )
    except RefusalsError as refused:  # what is missing has no field here, but a link to one
        raise RefusalsError(
            tuple(PanelError(one.code, one.message, one.fault) for one in refused.refusals)
        ) from refused
    return redirect(url_for("organiser_print.page", comparison=comparison))


def _lock(known: Comparison) -> str:
    """What members note before they throw dice; "" once it is sealed."""
    if known.standing is not Standing.DRAFTED:
        return ""
    return seal_text(seal_comparison.dice_lock(at(), actor(), known.id))


def _litres(millilitres: int) -> Message:
    return say("%(litres)s l", litres=Number(millilitres / 1000, 1))


def _minutes(seconds: int) -> Message:
    return say_n("1 minute", "%(count)s minutes", -(-seconds // 60))


def _each(known: Comparison, obstacles: tuple[Obstacle, ...]) -> list[Missing]:
    return [
        Missing(obstacle.message, _mended(known, obstacle.field, obstacle.sitting))
        for obstacle in obstacles
    ]


def _mended(known: Comparison, field: str, sitting: str = "") -> str:
    """The address of the field in which something is mended."""
    anchor = ANCHORS.get(field, field)
    first = known.sittings[0].id if known.sittings else ""
    if field in OF_A_SITTING and sitting and sitting != first:
        return url_for(
            "organiser_sittings.page", comparison=known.id, sitting=sitting, _anchor=anchor
        )
    return url_for("organiser_question.page", comparison=known.id, _anchor=anchor)
