"""The third page of a comparison: how many pages the kit has, which sheet is whose, and each as a
file to print. How it is printed stands in the address, so that a sheet can be had again alike."""

from collections.abc import Mapping

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import parse_card_number
from panel.core.comparison import Comparison
from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, Number, say
from panel.core.paper.card_format import card_formats
from panel.core.paper.stock import LABELS, Stock
from panel.services import lock_key, plan_comparison, print_kit
from panel.services.print_kit import USUAL, Paperwork
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_reading import Reading, Words
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at
from panel.web.printed import sent
from panel.web.reach import reach

pages = Blueprint("organiser_print", __name__, url_prefix="/organise/<id:comparison>/print")

FIELDS = ("labels", "skip_labels", "card", "spares")
"""What the address may say of the paper; all of it can be left out."""
MOST_SPARES = 100


def show_kit(typed: Typed, comparison: str) -> str:
    """The kit of every sitting, page count first."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    asked = {name: request.args.getlist(name) for name in FIELDS if request.args.get(name)}
    paperwork = USUAL
    try:
        paperwork = _paperwork(known, asked)
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
        labels=[(stock.id, _stock_in_words(stock)) for stock in _stocks(known)],
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
    paperwork = _paperwork(known, request.args.to_dict(flat=False))
    return sent(print_kit.sheet(at(), actor(), comparison, sitting, name, paperwork))


@pages.post("/<id:sitting>/<name>.pdf")
def key_sheet(comparison: str, sitting: str, name: str) -> ResponseReturnValue:
    """One that shows which cup is which: asking for it is recorded, so it is no mere link."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    paperwork = _paperwork(known, request.args.to_dict(flat=False))
    return sent(print_kit.key_sheet(at(), actor(), comparison, sitting, name, paperwork))


@pages.post("/<id:sitting>/everything")
def everything(comparison: str, sitting: str) -> ResponseReturnValue:
    """All usual sheets under a cover; those that show which cup is which are recorded."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    paperwork = _paperwork(known, request.args.to_dict(flat=False))
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


def _paperwork(known: Comparison, words: Words) -> Paperwork:
    """How the address asks for the kit to be printed; RefusalsError for what cannot be."""
    reading = Reading(words)
    skip = reading.whole("skip_labels", 6) or 0
    spares = reading.whole("spares", 2)
    if spares is not None and spares > MOST_SPARES:
        reading.refuse(
            "spares", "spares", say("At most %(most)s spare trays, please.", most=MOST_SPARES)
        )
    labels = _named(reading, "labels", {stock.id: stock for stock in _stocks(known)})
    formats = {one.id: one for s in known.sittings for one in card_formats(s.paper)}
    card = _named(reading, "card", formats)
    if labels and skip >= LABELS[labels].columns * LABELS[labels].rows:
        reading.refuse(
            "skip_labels",
            "skip-labels",
            say("A sheet does not have so many labels. Take a new one."),
        )
    reading.done()
    return Paperwork(card=card, labels=labels, skip_labels=skip, spares=spares)


def _named(reading: Reading, name: str, known: Mapping[str, object]) -> str:
    """An id from a list that may be left out."""
    if not reading.text(name):
        return ""
    return reading.word(name, known, say("Choose one from the list.")) or ""


def _stocks(known: Comparison) -> list[Stock]:
    """The label sheets of the papers that the sittings print on."""
    papers = {sitting.paper for sitting in known.sittings}
    return [stock for stock in LABELS.values() if stock.paper in papers]


def _stock_in_words(stock: Stock) -> Message:
    form = (
        say("plain paper to cut apart, %(count)s labels of %(width)s × %(height)s mm")
        if stock.plain
        else say("%(count)s labels of %(width)s × %(height)s mm")
    )
    return say(
        form.id,
        count=stock.columns * stock.rows,
        width=_millimetres(stock.width),
        height=_millimetres(stock.height),
    )


def _millimetres(length: float) -> Number:
    return Number(length, 0 if length == int(length) else 1)
