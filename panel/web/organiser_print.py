"""The third page of a comparison: how many pages the kit has, which sheet is whose, and each as a
file to print."""

from io import BytesIO

from flask import Blueprint, render_template, send_file
from flask.typing import ResponseReturnValue

from panel.services import plan_comparison, print_kit
from panel.web.guards import actor
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint("organiser_print", __name__, url_prefix="/organise/<id:comparison>/print")


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """The kit of every sitting, page count first."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    kits = [
        (sitting, print_kit.contents(at(), actor(), comparison, sitting.id))
        for sitting in known.sittings
    ]
    return render_template(
        "organiser/print.html",
        known=known,
        kits=kits,
        pages=sum(sheet.pages for _, kit in kits for sheet in kit if not sheet.on_request),
        steps=steps_of(progress_of(at(), actor(), known)),
        here="print",
    )


@pages.get("/<id:sitting>/<name>.pdf")
def sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One sheet, made when asked for and never kept."""
    printed = print_kit.sheet(at(), actor(), comparison, sitting, name)
    return send_file(
        BytesIO(printed.pdf),
        mimetype="application/pdf",
        as_attachment=True,
        download_name=printed.filename,
        etag=False,
        max_age=None,
    )
