"""Looking at what was read from pictures of cards, one at a time, and deciding about each.

Whoever looks sees what is on the paper: codes and marks, never a beer. What they decide goes in by
the one door like every ballot, as the card's scanned copy.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from panel import scanning
from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import Decision, KeptReading, ReadingStanding
from panel.core.comparison import Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.names import Channel
from panel.core.questions import Answer, Question
from panel.core.reconcile import Copy
from panel.services import ballot_door
from panel.services.ballot_door import Receipt
from panel.services.plan_comparison import existing
from panel.services.record import record
from panel.services.take_ballot import Serving, served_tray, serving_of_tray
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import readings as readings_store
from panel.store import trays as trays_store


@dataclass(frozen=True)
class Pile:
    """The readings of a sitting's cards, first to last, without pictures; and which wait."""

    readings: tuple[KeptReading, ...]
    waiting: tuple[int, ...]

    @property
    def looked_at(self) -> int:
        """Readings about which a person has decided."""
        return sum(one.decision is not None for one in self.readings)

    def after(self, number: int) -> int | None:
        """The next that waits after this one, round about; None if no other does."""
        others = [one for one in self.waiting if one != number]
        return next((one for one in others if one > number), others[0] if others else None)

    def before(self, number: int) -> int | None:
        """The one read before this; None if there is none."""
        return max((one.number for one in self.readings if one.number < number), default=None)


@dataclass(frozen=True, kw_only=True)
class Review:
    """One reading with its picture, and what is needed to decide. `shown`: the answers that the
    form begins with: of the ballot it has become, else those that were read. `size`: width and
    height of the picture in pixels, None without one."""

    reading: KeptReading
    tray: Tray
    questions: tuple[Question, ...]
    deciding: str
    shown: Mapping[str, Answer]
    pile: Pile
    size: tuple[int, int] | None

    @property
    def card(self) -> str:
        """The card's number with its check letter."""
        return card_number(self.tray.number)

    @property
    def readable(self) -> bool:
        """Whether it can be taken as it was read: the deciding question is clear."""
        return self.deciding in self.reading.read.answers

    @property
    def left_open(self) -> tuple[Message, ...]:
        """The questions in doubt that stay without an answer if it is taken as it was read."""
        without = _without_answer(self.reading)
        return tuple(one.short for one in self.questions if one.id in without)


def pile_of(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str) -> Pile:
    """Everything that was read of a sitting's cards; no answer of the others' is looked up."""
    actor.require_serving(comparison_id, sitting_id)
    with at.units.read() as session:
        return _pile(session, comparison_id, sitting_id)


def review(at: Workplace, actor: Actor, comparison_id: str, sitting_id: str, number: int) -> Review:
    """One reading of a card of this sitting; PanelError (fault MISSING) if there is none."""
    actor.require_serving(comparison_id, sitting_id)
    with at.units.read() as session:
        reading, serving = _reading(session, comparison_id, sitting_id, number)
        copies = ballots_store.revisions(session, comparison_id, serving.tray.number)
        became = next((one.answers for one in copies if one.revision == reading.revision), None)
        return Review(
            reading=reading,
            tray=serving.tray,
            questions=serving.questions,
            deciding=serving.deciding,
            shown=reading.read.answers if became is None else became,
            pile=_pile(session, comparison_id, sitting_id),
            size=scanning.size_of_picture(picture) if (picture := reading.read.picture) else None,
        )


def decide(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    sitting_id: str,
    number: int,
    decision: Decision,
    answers: Mapping[str, Answer],
    key: str,
) -> Receipt | None:
    """Takes a reading as it is, or with a person's answers, or leaves it open (None: no ballot).

    answers: for Decision.OTHERWISE alone. key: minted into the form; sent twice it counts once. The
    same decision again, with the same outcome, writes nothing.
    """
    actor.require_serving(comparison_id, sitting_id)
    with at.units.begin() as session:
        reading, serving = _reading(session, comparison_id, sitting_id, number)
        receipt = None
        if decision is Decision.LEFT_OPEN:
            _require_no_ballot(reading)
        else:
            served = served_tray(serving)
            given = reading.read.answers if decision is Decision.AS_READ else answers
            receipt = ballot_door.take(session, at, actor, served, Channel.SCANNED, given, key)
        if not _decided_so(reading, decision, receipt):
            _settle(session, at, actor, comparison_id, reading, decision, receipt)
    return receipt


def _decided_so(reading: KeptReading, decision: Decision, receipt: Receipt | None) -> bool:
    """Whether this very decision has been taken already, and made the same ballot."""
    revision = receipt.revision if receipt else None
    return reading.decision is decision and reading.revision == revision


def _settle(
    session: Session,
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    reading: KeptReading,
    decision: Decision,
    receipt: Receipt | None,
) -> None:
    """The decision beside the reading, and its line in the record: with the questions in doubt that
    were left open, where it was taken as it was read."""
    revision = receipt.revision if receipt else None
    readings_store.settle(
        session,
        comparison_id,
        reading.number,
        standing=_standing(receipt),
        revision=revision,
        decision=decision,
        role=actor.role,
        person=actor.person,
        now=at.now(),
    )
    without = _without_answer(reading) if decision is Decision.AS_READ else frozenset()
    more = {"left_open": " ".join(sorted(without))} if without else {}
    record(
        session, at, actor, comparison_id, Deed.READING_DECIDED, str(reading.tray),
        reading=reading.number, decision=str(decision), revision=revision, **more,
    )  # fmt: skip


def _without_answer(reading: KeptReading) -> frozenset[str]:
    return frozenset({one.question for one in reading.read.open} - set(reading.read.answers) - {""})


def _standing(receipt: Receipt | None) -> ReadingStanding:
    if receipt is None:
        return ReadingStanding.LEFT_OPEN
    if receipt.copy is Copy.QUESTION:
        return ReadingStanding.IN_QUESTION
    return ReadingStanding.DECIDED


def _require_no_ballot(reading: KeptReading) -> None:
    if reading.revision is not None:
        raise PanelError(
            "ballot-in",
            say(
                "This card's ballot is in already, so it cannot be left open. Correct it here, or "
                "set its tray aside with the reason “card cannot be read”."
            ),
            Fault.STANDING,
        )


def _reading(
    session: Session, comparison_id: str, sitting_id: str, number: int
) -> tuple[KeptReading, Serving]:
    reading = readings_store.load(session, comparison_id, number)
    tray = None if reading is None else trays_store.load(session, comparison_id, reading.tray)
    if reading is None or tray is None or tray.sitting != sitting_id:
        raise PanelError(
            "no-such-reading", say("There is no such card among those read here."), Fault.MISSING
        )
    return reading, serving_of_tray(existing(session, comparison_id), tray)


def _pile(session: Session, comparison_id: str, sitting_id: str) -> Pile:
    trays = trays_store.of_sitting(session, comparison_id, sitting_id)
    found = readings_store.of_trays(session, comparison_id, [tray.number for tray in trays])
    since = readings_store.put_on_paper(session, comparison_id)
    last = {one.tray: one.number for one in found}
    return Pile(found, tuple(one.number for one in found if _waits(one, last, since.get(one.tray))))


def _waits(reading: KeptReading, last: Mapping[int, int], since: datetime | None) -> bool:
    """Whether somebody has to look: not where a later picture or a ballot keyed in from the paper
    has made up for it."""
    return (
        reading.standing is ReadingStanding.WAITING
        and last[reading.tray] == reading.number
        and (since is None or since <= reading.read_at)
    )
