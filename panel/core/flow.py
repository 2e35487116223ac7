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

    drawn = unused + used; used = before + handed_out, `before` being trays that were set aside
    straight from the table: nobody noted that a taster got them, and no ballot came;
    handed_out = not_returned + returned; returned = late + in_question + told + counted + those
    set aside afterwards. `set_aside` are counts by reason, without trays never used, and
    `set_aside_before` those among them that are in `before`; not returned are in the first once
    the sitting is closed. `without_ballot` are out and not set aside. `late` are trays of which
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
    set_aside_before: tuple[tuple[Reason, int], ...]
    without_ballot: int
    late: int
    in_question: int
    told: int
    counted: int

    def __post_init__(self) -> None:
        counted = self.late + self.in_question + self.told + self.counted
        before, all_aside = dict(self.set_aside_before), dict(self.set_aside)
        if not (
            self.drawn == self.unused + self.used
            and self.used == self.before + self.handed_out
            and self.before == sum(before.values())
            and all(trays <= all_aside.get(reason, 0) for reason, trays in before.items())
            and self.handed_out == self.not_returned + self.returned
            and self.returned == counted + self.set_aside_returned
            and self.used == self.set_aside_trays + self.without_ballot + counted
        ):
            raise ValueError(f"the trays do not add up: {self}")

    @property
    def set_aside_trays(self) -> int:
        """Trays set aside for any reason but never having been used."""
        return sum(trays for _, trays in self.set_aside)

    @property
    def gone(self) -> int:
        """Trays set aside at the end because nothing of them came back."""
        return self.not_returned - self.without_ballot

    @property
    def set_aside_returned(self) -> int:
        """Trays set aside after a taster had got them, for something else than not coming back."""
        return self.set_aside_trays - self.before - self.gone

    @property
    def reasons_after(self) -> tuple[tuple[Reason, int], ...]:
        """The same by reason."""
        left = Counter(dict(self.set_aside))
        left.subtract(dict(self.set_aside_before))
        left[Reason.NOT_RETURNED] -= self.gone
        return tuple((reason, left[reason]) for reason in Reason if left[reason])


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
    aside = [end for end in ended if end.fate is Fate.SET_ASIDE]
    before = tuple(filter(never_reached, aside))
    missing = fates[Fate.NO_BALLOT] + sum(map(_never_came_back, aside))
    handed_out = len(ended) - fates[Fate.UNUSED] - len(before)
    return Flow(
        drawn=len(ended),
        unused=fates[Fate.UNUSED],
        used=len(ended) - fates[Fate.UNUSED],
        before=len(before),
        handed_out=handed_out,
        not_returned=missing,
        returned=handed_out - missing,
        set_aside=_by_reason(aside),
        set_aside_before=_by_reason(before),
        without_ballot=fates[Fate.NO_BALLOT],
        late=fates[Fate.LATE],
        in_question=fates[Fate.IN_QUESTION],
        told=fates[Fate.TOLD],
        counted=fates[Fate.COUNTED],
    )


def _by_reason(ended: Iterable[Ended]) -> tuple[tuple[Reason, int], ...]:
    reasons = Counter(map(_reason, ended))
    return tuple((reason, reasons[reason]) for reason in Reason if reasons[reason])


def _reason(end: Ended) -> Reason:
    return end.tray.reason or Reason.OTHER


def never_reached(end: Ended) -> bool:
    """Set aside, neither handed out nor answered: by the record it never reached anybody. That it
    was not returned says that it had."""
    reached = end.ballot or end.tray.handed_out is not None
    aside = end.fate is Fate.SET_ASIDE and _reason(end) is not Reason.NOT_RETURNED
    return aside and not reached


def _never_came_back(end: Ended) -> bool:
    return _reason(end) is Reason.NOT_RETURNED and not end.ballot
