"""Pages for everybody: what this guild has published, a comparison's seal and its result."""

import mimetypes

from flask import (
    Blueprint,
    Response,
    abort,
    current_app,
    make_response,
    redirect,
    render_template,
    url_for,
)
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from panel.catalogue import speaker
from panel.core.comparison import Seal
from panel.core.drawing import Drawing, Group
from panel.core.methods import method_named
from panel.core.rosette import rosette
from panel.services import addresses, public_files, publish, show_result, sign_in
from panel.web.files import TYPEFACES
from panel.web.files import typeface as typeface_file
from panel.web.language import language, speak_in
from panel.web.place import at
from panel.web.printed import sent

pages = Blueprint("public", __name__)

NEWEST = 8
"""Results on the front page at most; the archive has them all."""

FEW = 3
"""More than so many are worth searching: then the front page leads to the archive."""

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
    return render_template(
        "public/front.html",
        published=publish.published(at()),
        newest=NEWEST,
        few=FEW,
        fresh=sign_in.awaits_set_up(at()),
    )


@pages.get("/reach")
def reach() -> ResponseReturnValue:
    """What a phone opens before the doors do, to see whether it could send a ballot."""
    return render_template("public/reach.html")


@pages.get("/r/<slug:slug>")
def result(slug: str) -> ResponseReturnValue:
    """The seal before serving, a calm word until publication, then the result."""
    page = publish.public_page(at(), slug)
    known = page.comparison
    if known.sittings:
        speak_in(known.sittings[0].language)
    if not page.published:
        method = method_named(known.plan.method)
        return render_template("public/seal.html", known=known, method=method)
    links = public_files.links(
        lambda name: url_for(".file", slug=slug, name=name),
        addresses.lasting_link(at().settings, known),
    )
    article = show_result.public_article(at(), slug, speaker(language()), links)
    return render_template(
        "public/result.html",
        known=known,
        article=Markup(article),
        summary=show_result.public_summary(at(), slug, speaker(language())),
    )


@pages.get("/r/<slug:slug>/<path:name>")
def file(slug: str, name: str) -> ResponseReturnValue:
    """A file beside a published result; the look-up page brings its own style and script."""
    files = public_files.public_files(at(), slug, speaker(language()), language())
    if name == "index.html":
        return redirect(url_for(".result", slug=slug))
    if name not in files:
        abort(404)
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    response = make_response(files[name])
    response.mimetype = kind
    if kind == "application/json":
        response.headers["Content-Disposition"] = f"attachment; filename={slug}-{name}"
    return response


@pages.get("/r/<slug:slug>/bundle.zip")
def bundle(slug: str) -> Response:
    """Everything that was published, as data that anybody can check."""
    response = Response(show_result.public_bundle(at(), slug), mimetype="application/zip")
    response.headers["Content-Disposition"] = f"attachment; filename={slug}-bundle.zip"
    return response


@pages.get("/r/<slug:slug>/report.pdf")
def report(slug: str) -> Response:
    """The published report, to be printed."""
    return sent(show_result.public_report(at(), slug))


@pages.get("/r/<slug:slug>/picture.png")
def picture(slug: str) -> Response:
    """The published result as one picture, to be shared."""
    return Response(show_result.public_picture(at(), slug), mimetype="image/png")


@pages.get("/result.css")
def result_style() -> Response:
    """The style of a result's article, which the static folder has as well."""
    return Response(show_result.style_sheet(), mimetype="text/css")


@pages.get("/type/<name>.ttf")
def typeface(name: str) -> Response:
    """A typeface of the pages."""
    return typeface_file(current_app.extensions[TYPEFACES], name)
