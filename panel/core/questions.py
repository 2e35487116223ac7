"""The few shapes a question can have.

A question drives everything that shows or checks it: the phone form, keyed entry, the places on
the paper card, the reader's zones, the validation, the columns of the bundle and the docs. Cups
are named by position here (1 is the first cup on the tray); each tray puts its codes in.

An answer is a tuple of words, whatever the shape:
    PickCups     the codes picked, in serving order, or (NO_CHOICE,)
    YesNoPerCup  "482:yes", "719:no", one for each cup
    ScalePerCup  "482:7", one for each cup
    OrderCups    the codes, first to last
    Choice       the values chosen, in the order of the options
    Words        one text
"""

from dataclasses import dataclass
from enum import Enum

from panel.core.message import Message

NO_CHOICE = "none"
"""The answer of a taster who declares no preference where the plan allows it."""


class When(Enum):
    """The moment of the evening at which a question is asked."""

    BEFORE = "before the first cup"
    NOSE = "with the cups, by smell alone"
    CUPS = "with the cups"
    AFTER = "after the deciding answer"


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What all questions share. `short` names the question in tables and on the paper card."""

    id: str
    text: Message
    short: Message
    when: When = When.CUPS
    required: bool = True


@dataclass(frozen=True, kw_only=True)
class PickCups(Asked):
    """Pick `pick` of the cups at `positions`; `no_choice` is the text of an allowed refusal.

    `moment` names the step of a ballot that asks twice; `beside`: it is the choice that does not
    decide there.
    """

    pick: int
    positions: tuple[int, ...]
    no_choice: Message | None = None
    moment: Message | None = None
    beside: bool = False


@dataclass(frozen=True, kw_only=True)
class YesNoPerCup(Asked):
    """Yes or no for each cup at `positions`."""

    positions: tuple[int, ...]
    yes: Message
    no: Message


@dataclass(frozen=True, kw_only=True)
class ScalePerCup(Asked):
    """A whole number from 1 to `points` for each cup; the ends are named."""

    positions: tuple[int, ...]
    points: int
    low: Message
    high: Message


@dataclass(frozen=True, kw_only=True)
class OrderCups(Asked):
    """All cups at `positions` in order; the ends are named."""

    positions: tuple[int, ...]
    first: Message
    last: Message


@dataclass(frozen=True, kw_only=True)
class Option:
    """One line of a list to choose from."""

    value: str
    text: Message


@dataclass(frozen=True, kw_only=True)
class Choice(Asked):
    """Choose from a list: one, or several; `alone` is the value that excludes all others."""

    options: tuple[Option, ...]
    several: bool = False
    alone: str | None = None


@dataclass(frozen=True, kw_only=True)
class Words(Asked):
    """Free words of at most `longest` characters, `lines` lines of the card; never machine-read."""

    lines: int = 2
    longest: int = 400


CupQuestion = PickCups | YesNoPerCup | ScalePerCup | OrderCups | Choice
"""Those that can decide: what is asked about the cups and read by machine."""

Question = CupQuestion | Words
Answer = tuple[str, ...]
