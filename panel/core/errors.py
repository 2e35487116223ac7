"""One family of errors: a code, a sentence for the person, whose fault, and what to do.

The web turns a `Fault` into a status once (web/errors.py), the command line into an exit code.
"""

from enum import Enum

from panel.core.message import Message


class Fault(Enum):
    """Whose fault a refusal is; it decides how the edges answer."""

    INPUT = "input"  # what was typed or sent cannot be taken
    STANDING = "standing"  # right thing, wrong moment: the comparison is not in that standing
    MISSING = "missing"  # there is no such thing, or not for this person
    FORBIDDEN = "forbidden"  # this person may not do or see this
    CLASH = "clash"  # somebody else was faster, or it is already so
    PLACE = "place"  # the machine: disk, port, settings, database


class PanelError(Exception):
    """A refusal in the user's words. `field` names the form field it belongs to, if any."""

    def __init__(
        self, code: str, message: Message, fault: Fault = Fault.INPUT, field: str | None = None
    ) -> None:
        super().__init__(str(message))
        self.code = code
        self.message = message
        self.fault = fault
        self.field = field


class RefusalsError(PanelError):
    """Several refusals at once, so that a form can show each beside its field."""

    def __init__(self, refusals: tuple[PanelError, ...]) -> None:
        first = refusals[0]
        super().__init__(first.code, first.message, first.fault, first.field)
        self.refusals = refusals
