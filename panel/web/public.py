"""Pages for everybody: what this guild has published, a comparison's seal and its result."""

from flask import Blueprint, Response, current_app, render_template
from flask.typing import ResponseReturnValue

from panel.core.comparison import Seal
from panel.core.drawing import Drawing, Group
from panel.core.methods import method_named
from panel.core.rosette import rosette
from panel.services import publish
from panel.web.files import TYPEFACES
from panel.web.files import typeface as typeface_file
from panel.web.place import at

pages = Blueprint("public", __name__)

FIGURE = 60.0
"""Millimetres across the seal's figure; a page shows it as large as it has room."""


@pages.app_template_filter("figure")
def figure(seal: Seal) -> Drawing:
    """The rosette of a seal as a drawing of its own."""
    shape = rosette(bytes.fromhex(seal.digest), FIGURE)
    centred = Group(shapes=shape.shapes, x=FIGURE / 2, y=FIGURE / 2)
    return Drawing(width=FIGURE, height=FIGURE, shapes=(centred,))


@pages.app_template_filter("in_eights")
def in_eights(digest: str) -> str:
    """A digest as people compare it: groups of eight digits."""
    return " ".join(digest[start : start + 8] for start in range(0, len(digest), 8))


@pages.get("/")
def front() -> ResponseReturnValue:
    """What this guild has published, and the ways in."""
    return render_template("public/front.html", published=publish.published(at()))


@pages.get("/reach")
def reach() -> ResponseReturnValue:
    """What a phone opens before the doors do, to see whether it could send a ballot."""
    return render_template("public/reach.html")


@pages.get("/r/<slug:slug>")
def result(slug: str) -> ResponseReturnValue:
    """The seal before serving, a calm word until publication, then the result."""
    page = publish.public_page(at(), slug)
    known = page.comparison
    return render_template(
        "public/result.html" if page.published else "public/seal.html",
        known=known,
        method=method_named(known.plan.method),
        page=page,
    )


@pages.get("/type/<name>.ttf")
def typeface(name: str) -> Response:
    """A typeface of the pages."""
    return typeface_file(current_app.extensions[TYPEFACES], name)
