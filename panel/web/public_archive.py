"""The archive for everybody: published comparisons to be searched, and findings side by side."""

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from panel.catalogue import speaker
from panel.core.archive import Wish
from panel.core.methods import method_named
from panel.core.wording.side_by_side import (
    INFORMATION,
    NOTES,
    combined_rows,
    question_of,
    say_together,
)
from panel.services import archive
from panel.web.language import language
from panel.web.place import at

pages = Blueprint("public_archive", __name__, url_prefix="/archive")

LONGEST = 200
"""Characters of a word that is looked for; the form takes no more."""


@pages.get("")
def page() -> ResponseReturnValue:
    """What was published, all of it or what somebody looks for."""
    wish = Wish(words=_asked("words"), drink=_asked("drink"), method=_asked("method"))
    shelf = archive.look(at(), wish, request.args.get("page", 1, type=int) or 1)
    return render_template("public/archive.html", shelf=shelf, wish=wish, longest=LONGEST)


@pages.get("/side-by-side")
def side_by_side() -> ResponseReturnValue:
    """The findings of one variable in one drink."""
    beside = archive.beside(at(), _asked("drink"), _asked("variable"), speaker(language()))
    return render_template(
        "public/side_by_side.html",
        beside=beside,
        notes=NOTES,
        information=INFORMATION,
        method_named=method_named,
        question_of=question_of,
        say_together=say_together,
        combined_rows=combined_rows,
    )


def _asked(name: str) -> str:
    return request.args.get(name, "")[:LONGEST].strip()
