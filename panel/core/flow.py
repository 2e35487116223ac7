"""What became of every tray that was drawn: each has one fate, so the counts always add up.

Modelled on the participant flow of CONSORT 2025 (items 22a and 22b): how many in each group were
assigned, received and analysed, and losses and exclusions with their reasons.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from panel.core.comparison import Tray
from panel.core.names import CardStanding, Reason


class Fate(StrEnum):
    """Where a tray ended."""

    UNUSED = "unused"  # a spare, or simply not needed
    SET_ASIDE = "set-aside"
    NO_BALLOT = "no-ballot"  # handed out, and nothing came back so far
    LATE = "late"  # a ballot came, but only after its sitting had closed
    IN_QUESTION = "in-question"
    TOLD = "told"  # counted apart: a blinded sitting's taster who knew or helped
    COUNTED = "counted"


@dataclass(frozen=True)
class Ended:
    """A tray, its fate, and whether any ballot of it came in, counted or not."""

    tray: Tray
    fate: Fate
    ballot: bool


@dataclass(frozen=True, kw_only=True)
class Flow:
    """Trays of one sitting or of several. ValueError where the counts do not add up.

    drawn = unused + used; used = before + handed_out, `before` being trays set aside before they
    were handed out; handed_out = not_returned + returned; returned = late + in_question +
    told + counted + those set aside afterwards. `set_aside` are counts by reason, without trays
    never used; not returned are among them once the sitting is closed. `late` are trays of which
    a ballot came too late and none in time, unless people set them aside for what happened to
    them or are still in question about them.
    """

    drawn: int
    unused: int
    used: int
    before: int
    handed_out: int
    not_returned: int
    returned: int
    set_aside: tuple[tuple[Reason, int], ...]
    without_ballot: int
    late: int
    in_question: int
    told: int
    counted: int

    def __post_init__(self) -> None:
        ended = self.set_aside_trays + self.without_ballot + self.late + self.in_question
        if not (
            self.drawn == self.unused + self.used
            and self.used == self.before + self.handed_out
            and self.handed_out == self.not_returned + self.returned
            and self.used == ended + self.told + self.counted
        ):
            raise ValueError(f"the trays do not add up: {self}")

    @property
    def set_aside_trays(self) -> int:
        """Trays set aside for any reason but never having been used."""
        return sum(trays for _, trays in self.set_aside)


NOTHING_CAME = frozenset({Reason.NEVER_USED, Reason.NOT_RETURNED})
"""Reasons that say no more than that there was no ballot: one that comes all the same corrects
them."""


def fate_of(tray: Tray, *, in_time: bool, late: bool, told: bool) -> Fate:
    """The one fate of a tray. `in_time`, `late`: a ballot of that kind came in.

    What people decided about the tray goes before what came in; a phone ballot counts although
    nobody noted that the tray was handed out.
    """
    match tray.standing:
        case CardStanding.SET_ASIDE:
            return _aside(tray.reason, in_time, late)
        case CardStanding.IN_QUESTION:
            return Fate.IN_QUESTION
        case _ if in_time:
            return Fate.TOLD if told else Fate.COUNTED
        case _ if late:
            return Fate.LATE
        case CardStanding.PRINTED:
            return Fate.UNUSED
        case _:
            return Fate.NO_BALLOT


def _aside(reason: Reason | None, in_time: bool, late: bool) -> Fate:
    if in_time or reason not in NOTHING_CAME:
        return Fate.SET_ASIDE
    if late:
        return Fate.LATE
    return Fate.UNUSED if reason is Reason.NEVER_USED else Fate.SET_ASIDE


def flow_of(trays: Iterable[Ended]) -> Flow:
    """The counts of these trays."""
    ended = tuple(trays)
    fates = Counter(end.fate for end in ended)
    aside = Counter(_reason(end) for end in ended if end.fate is Fate.SET_ASIDE)
    before = sum(map(_before_serving, ended))
    missing = fates[Fate.NO_BALLOT] + sum(map(_never_came_back, ended))
    handed_out = len(ended) - fates[Fate.UNUSED] - before
    return Flow(
        drawn=len(ended),
        unused=fates[Fate.UNUSED],
        used=len(ended) - fates[Fate.UNUSED],
        before=before,
        handed_out=handed_out,
        not_returned=missing,
        returned=handed_out - missing,
        set_aside=tuple((reason, aside[reason]) for reason in Reason if aside[reason]),
        without_ballot=fates[Fate.NO_BALLOT],
        late=fates[Fate.LATE],
        in_question=fates[Fate.IN_QUESTION],
        told=fates[Fate.TOLD],
        counted=fates[Fate.COUNTED],
    )


def _reason(end: Ended) -> Reason:
    return end.tray.reason or Reason.OTHER


def _before_serving(end: Ended) -> bool:
    """Misfilled or spilled, neither handed out nor answered: it never reached anybody."""
    spoilt = end.fate is Fate.SET_ASIDE and _reason(end) in (Reason.MISFILLED, Reason.SPILLED)
    return spoilt and not end.ballot and end.tray.handed_out is None


def _never_came_back(end: Ended) -> bool:
    return end.fate is Fate.SET_ASIDE and _reason(end) is Reason.NOT_RETURNED
