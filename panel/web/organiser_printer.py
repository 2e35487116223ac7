"""The page on which the numbers from the ruler page are typed in."""

from flask import Blueprint, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.message import say
from panel.services import correct_printer, plan_comparison
from panel.services.correct_printer import MEASURED
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.organiser_reading import Reading
from panel.web.organiser_steps import progress_of, steps_of
from panel.web.place import at

pages = Blueprint(
    "organiser_printer", __name__, url_prefix="/organise/<id:comparison>/print/printer"
)

EXAMPLES = {"across": "99.5", "down": "99.5", "left": "30.5", "top": "29"}


def show_printer(typed: Typed, comparison: str) -> str:
    """What sheets are printed with, the ruler page, and its four numbers."""
    known = plan_comparison.comparison(at(), actor(), comparison)
    printer = correct_printer.correction(at(), actor())
    return render_template(
        "organiser/printer.html",
        typed=typed,
        known=known,
        papers={sitting.paper: sitting for sitting in reversed(known.sittings)},
        numbers=MEASURED,
        seen=correct_printer.mark_of(printer),
        printed_with=correct_printer.printed_with(printer),
        steps=steps_of(progress_of(at(), actor(), known)),
        here="print",
    )


@pages.get("")
def page(comparison: str) -> ResponseReturnValue:
    """The form."""
    return show_printer(FRESH, comparison)


@pages.post("")
@refill(show_printer)
def correct(comparison: str) -> ResponseReturnValue:
    """Takes the four numbers, or goes back to the settings."""
    if request.form.get("what") == "again":
        correct_printer.start_again(at(), actor())
        return redirect(url_for(".page", comparison=comparison))
    reading = Reading(request.form.to_dict(flat=False))
    found = {name: _measured(reading, name) for name, _ in MEASURED}
    reading.done()
    correct_printer.correct(at(), actor(), **found, seen=request.form.get("seen", ""))
    return redirect(url_for(".page", comparison=comparison))


def _measured(reading: Reading, name: str) -> float:
    number = reading.decimal(name, EXAMPLES[name])
    if number is None and not reading.refused(name):
        reading.refuse(
            name,
            "not-measured",
            say(
                "Write what you measured, in millimetres, such as %(example)s.",
                example=EXAMPLES[name],
            ),
        )
    return float(number or 0)
