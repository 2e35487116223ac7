"""The pourer's screen: a wave's cups in their places, with the ring of the jug that fills each.

It shows which cup is which, under the names that the level allows, and looking is recorded:
therefore it is opened by a button and never by the opening of a page.
"""

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from panel.services import pour, print_kit
from panel.services.pour import PouredWave, Pouring
from panel.web.guards import actor
from panel.web.place import at
from panel.web.printed import sent

pages = Blueprint("pourer", __name__, url_prefix="/pourer/<id:comparison>/<id:sitting>")


@pages.get("")
def waves(comparison: str, sitting: str) -> ResponseReturnValue:
    """Behind the door: what the pourer does, and the button that shows the mats."""
    return render_template("pourer/door.html", comparison=comparison, sitting=sitting)


@pages.post("")
def mat(comparison: str, sitting: str) -> ResponseReturnValue:
    """One wave's mat on the screen."""
    shown = pour.pouring(at(), actor(), comparison, sitting)
    return render_template(
        "pourer/mat.html",
        comparison=comparison,
        sitting=sitting,
        pouring=shown,
        wave=_wanted(shown, request.form.get("wave", "")),
    )


@pages.post("/<name>.pdf")
def sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One of the pourer's sheets, printed without passing through anybody else's hands."""
    return sent(print_kit.key_sheet(at(), actor(), comparison, sitting, name))


def _wanted(shown: Pouring, wanted: str) -> PouredWave | None:
    for wave in shown.waves:
        if str(wave.number) == wanted:
            return wave
    return shown.waves[0] if shown.waves else None
