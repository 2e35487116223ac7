"""What the core says to people: a sentence with parameters, translated and formatted at the edges.

The English sentence is its own id, as gettext has it: `say("%(count)s cups", count=3)`. Numbers,
shares and moments stay values here, so that each language writes them its own way.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Union
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Share:
    """A proportion in 0..1 (or below 0 for an estimate under chance), shown as a percentage."""

    value: float
    digits: int = 0


@dataclass(frozen=True)
class PValue:
    """A probability shown with three digits and never as zero."""

    value: float


@dataclass(frozen=True)
class Number:
    """A decimal number shown with a fixed count of digits after the point."""

    value: float
    digits: int = 1


@dataclass(frozen=True)
class Moment:
    """A moment in UTC and the IANA zone in which people read it."""

    utc: datetime
    zone: str


@dataclass(frozen=True)
class Day:
    """The day on which a moment (UTC) falls in a zone, with its day of the week."""

    utc: datetime
    zone: str


Parameter = Union[str, int, Share, PValue, Number, Moment, Day, "Message"]


@dataclass(frozen=True)
class Message:
    """One translatable sentence: English id, its plural where it counts, and its parameters."""

    id: str
    parameters: tuple[tuple[str, Parameter], ...] = ()
    plural: str | None = None
    count: int | None = None

    def __str__(self) -> str:
        """English, for logs and exceptions."""
        sentence = self.id if self.plural is None or self.count == 1 else self.plural
        values = {name: plain(value) for name, value in self.parameters}
        return sentence % values if values else sentence.replace("%%", "%")


Speak = Callable[[Message], str]
"""Says a message in a reader's language; `str` speaks English."""


def say(sentence: str, **parameters: Parameter) -> Message:
    """A message from an English sentence with %(name)s places."""
    return Message(sentence, tuple(sorted(parameters.items())))


def say_n(singular: str, plural: str, count: int, **parameters: Parameter) -> Message:
    """A message whose form depends on a count; `%(count)s` is filled in with it."""
    named = tuple(sorted({**parameters, "count": count}.items()))
    return Message(singular, named, plural, count)


def again(sentence: Message, count: int, **parameters: Parameter) -> Message:
    """A sentence that stands in a table, said of this count and these parameters. A table holds
    `say_n(...)` and never bare pairs, for only what is written in a call is gathered for
    translators."""
    if sentence.plural is None:
        raise ValueError(f"“{sentence.id}” has no form that depends on a count")
    return say_n(sentence.id, sentence.plural, count, **parameters)


def plain(value: Parameter) -> str:
    """English text of a parameter, for places that have no language of their own."""
    match value:
        case Share(share, digits):
            return f"{100 * share:.{digits}f}%"
        case PValue(p):
            return "less than 0.001" if p < 0.001 else f"{p:.3f}"
        case Number(number, digits):
            return f"{number:.{digits}f}"
        case Moment(utc, zone):
            return f"{utc:%Y-%m-%d %H:%M} UTC ({zone})"
        case Day(utc, zone):
            return f"{utc.astimezone(ZoneInfo(zone)):%A %-d %B %Y}"
        case _:
            return str(value)
