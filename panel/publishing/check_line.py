"""One line of a check."""

from dataclasses import dataclass

from panel.core.message import Message


@dataclass(frozen=True)
class CheckLine:
    """What was looked at (a plain word), whether it holds, and a sentence that says so."""

    item: str
    holds: bool
    message: Message


def right(item: str, message: Message) -> CheckLine:
    """A line of something that holds."""
    return CheckLine(item, True, message)


def wrong(item: str, message: Message) -> CheckLine:
    """A line of something that does not."""
    return CheckLine(item, False, message)
