"""One thing that stands before sealing, beside the field it belongs to."""

from dataclasses import dataclass

from panel.core.message import Message


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """One thing that is missing or unwise. `field` names the form field, `sitting` its sitting."""

    field: str
    message: Message
    blocking: bool = True
    sitting: str = ""

    @property
    def code(self) -> str:
        """The code of the refusal that it is when somebody seals all the same."""
        return f"not-ready-{self.field.replace('_', '-')}"


def advice(field: str, message: Message, sitting: str = "") -> Obstacle:
    """What is said and may stand."""
    return Obstacle(field=field, message=message, blocking=False, sitting=sitting)
