"""The result for the room: a full screen for each step, one tap at a time."""

from flask import Blueprint, redirect, render_template, url_for
from flask.typing import ResponseReturnValue

from panel.catalogue import speaker
from panel.services import show_to_room
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.language import language, speak_in
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_showing", __name__, url_prefix="/organise/<id:comparison>/show")


def show_door(typed: Typed, comparison: str) -> str:
    """What showing means, before the first screen."""
    found = show_to_room.shown(at(), actor(), comparison, speaker(language()))
    return render_template(
        "organiser/showing_door.html",
        typed=typed,
        known=found.comparison,
        screens=found.screens,
        begun=found.begun,
        steps=steps_of(progress_of(at(), actor(), found.comparison)),
        here="findings",
    )


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """Before the first screen."""
    return show_door(FRESH, comparison)


@pages.post("")
@refill(show_door)
def begin(comparison: str) -> ResponseReturnValue:
    """Written down, then the first screen."""
    show_to_room.begin(at(), actor(), comparison)
    return redirect(url_for(".screen", comparison=comparison, number=1))


@pages.get("/<int:number>")
def screen(comparison: str, number: int) -> ResponseReturnValue:
    """One screen; the whole of it leads on to the next."""
    found = show_to_room.screen(at(), actor(), comparison, number, speaker(language()))
    known = found.comparison
    if known.sittings:
        speak_in(known.sittings[0].language)
        found = show_to_room.screen(at(), actor(), comparison, number, speaker(language()))
    return render_template(
        "organiser/showing.html",
        known=known,
        screen=found.screens[number - 1],
        number=number,
        many=len(found.screens),
    )
