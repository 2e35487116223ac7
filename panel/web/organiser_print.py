"""The third page of a comparison: how many pages the kit has, which sheet is whose, and each as a
file to print. How it is printed stands in the address, so that a sheet can be had again alike."""

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import parse_card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.paper.card_format import card_formats
from panel.services import lock_key, plan_comparison, print_kit
from panel.services.print_kit import USUAL
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_paper import FIELDS, OWN, paperwork_of, stock_in_words, stocks_for
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at
from panel.web.printed import sent
from panel.web.reach import reach

pages = Blueprint("organiser_print", __name__, url_prefix="/organise/<id:comparison>/print")


def show_kit(typed: Typed, comparison: str) -> str:
    """The kit of every sitting, page count first."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    asked = {name: request.args.getlist(name) for name in FIELDS if request.args.get(name)}
    paperwork = USUAL
    try:
        paperwork = paperwork_of(known, asked)
    except RefusalsError as refused:
        typed, asked = Typed(asked, refused.refusals), {}
    kits = [
        (sitting, print_kit.contents(at(), actor(), comparison, sitting.id, paperwork))
        for sitting in known.sittings
    ]
    piles = {
        sitting.id: print_kit.pages_of_everything(known, kit, paperwork) for sitting, kit in kits
    }
    return render_template(
        "organiser/print.html",
        typed=typed if typed.sent else Typed(asked),
        reach=reach(),
        known=known,
        locked=known.seal is not None and lock_key.locked(at(), actor(), comparison),
        kits=kits,
        piles=piles,
        pages=sum(sheet.pages for _, kit in kits for sheet in kit if not sheet.on_request),
        asked={name: words[0] for name, words in asked.items()},
        labels=[(stock.id, stock_in_words(stock)) for stock in stocks_for(known)],
        own=OWN,
        papers=sorted({sitting.paper for sitting in known.sittings}),
        own_fields=[name for name in FIELDS if name.startswith(OWN)],
        cards=[
            (one.id, one.name)
            for paper in sorted({sitting.paper for sitting in known.sittings})
            for one in card_formats(paper)
        ],
        steps=steps_of(progress_of(at(), actor(), known)),
        here="print",
    )


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """The list of sheets."""
    return show_kit(FRESH, comparison)


@pages.get("/<id:sitting>/<name>.pdf")
def sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One sheet, made when asked for and never kept."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    paperwork = paperwork_of(known, request.args.to_dict(flat=False))
    return sent(print_kit.sheet(at(), actor(), comparison, sitting, name, paperwork))


@pages.post("/<id:sitting>/<name>.pdf")
def key_sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One that shows which cup is which: asking for it is recorded, so it is no mere link."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    paperwork = paperwork_of(known, request.args.to_dict(flat=False))
    return sent(print_kit.key_sheet(at(), actor(), comparison, sitting, name, paperwork))


@pages.post("/<id:sitting>/everything")
def everything(comparison: str, sitting: str) -> ResponseReturnValue:
    """All usual sheets under a cover; those that show which cup is which are recorded."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    paperwork = paperwork_of(known, request.args.to_dict(flat=False))
    return sent(print_kit.everything(at(), actor(), comparison, sitting, paperwork))


@pages.get("/<id:sitting>/ruler")
def ruler(comparison: str, sitting: str) -> ResponseReturnValue:
    """A page of rulers: it shows whether the printer keeps to the measures."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    chosen = plan_comparison.sitting_of(known, sitting)
    return sent(print_kit.ruler(at(), actor(), chosen))


@pages.post("/again")
@refill(show_kit)
def again(comparison: str) -> ResponseReturnValue:
    """One tray's card, or its labels, once more."""
    number = parse_card_number(request.form.get("again", ""), "again")
    try:
        if request.form.get("what") == "labels":
            return sent(print_kit.reprint_labels(at(), actor(), comparison, number))
        return sent(print_kit.reprint_card(at(), actor(), comparison, number))
    except PanelError as refusal:
        raise PanelError(refusal.code, refusal.message, refusal.fault, "again") from refusal
