"""The correction of the printer: measured on the ruler page, kept for every sheet."""

import json
from dataclasses import asdict

from sqlalchemy.orm import Session

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.paper.geometry import Printer, printer_from_ruler
from panel.core.record import INSTANCE
from panel.printing import ruler_page
from panel.services.record import record
from panel.services.workplace import Actor, Workplace
from panel.settings import Settings
from panel.store import meta

MEASURED: tuple[tuple[str, Message], ...] = tuple(
    zip(("across", "down", "left", "top"), ruler_page.NUMBERS, strict=True)
)
"""What is measured on the ruler page, in its order: the argument of `correct` and its name."""


def printer_of(session: Session, settings: Settings) -> Printer:
    """The correction that was measured here last; until one was, that of the settings."""
    kept = meta.fact(session, meta.PRINTER)
    return Printer(**json.loads(kept)) if kept else printer_of_settings(settings)


def printer_of_settings(settings: Settings) -> Printer:
    """The correction that the settings say; PanelError if it is more than one printer is off by."""
    stretch = 1 / settings.print_scale
    return Printer(
        right=settings.right_millimetres,
        down=settings.down_millimetres,
        stretch_x=stretch,
        stretch_y=stretch,
    )


def correction(at: Workplace, actor: Actor) -> Printer:
    """What sheets are printed with now."""
    actor.require_organiser()
    with at.units.read() as session:
        return printer_of(session, at.settings)


def mark_of(printer: Printer) -> str:
    """A correction in one word: what a form says that its measured page was printed with."""
    parts = (printer.right, printer.down, printer.stretch_x, printer.stretch_y)
    return "/".join(f"{part:.6f}" for part in parts)


def printed_with(printer: Printer) -> Message:
    """The same in the words that stand at the foot of the ruler page."""
    return ruler_page.printed_with(printer)


def correct(
    at: Workplace,
    actor: Actor,
    *,
    across: float,
    down: float,
    left: float,
    top: float,
    seen: str,
) -> Printer:
    """The new correction, from millimetres measured on a page printed with the correction `seen`.

    PanelError for numbers that no printer gives (field of the number where it is one's), and with
    fault CLASH where the correction is another one by now: the same page would be counted twice.
    """
    actor.require_organiser()
    with at.units.begin() as session:
        old = printer_of(session, at.settings)
        if seen != mark_of(old):
            raise PanelError(
                "another-correction",
                say(
                    "The correction has been changed since. Print the ruler page again and measure "
                    "that one: these numbers belong to another."
                ),
                Fault.CLASH,
            )
        new = printer_from_ruler(across, down, left, top, old)
        meta.note(session, meta.PRINTER, json.dumps(asdict(new)))
        record(session, at, actor, INSTANCE, Deed.PRINTER_CORRECTED)
    return new


def start_again(at: Workplace, actor: Actor) -> Printer:
    """Back to what the settings say, as for another printer."""
    actor.require_organiser()
    with at.units.begin() as session:
        meta.forget(session, meta.PRINTER)
        record(session, at, actor, INSTANCE, Deed.PRINTER_CORRECTED)
    return printer_of_settings(at.settings)
