"""Photographed and scanned cards: each becomes a ballot through the one door, or is put before a
person with the reason. Nothing is guessed; what was read is kept beside its picture."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy.orm import Session

from panel import scanning
from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import Came, CardRead, KeptReading, ReadingStanding
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Channel
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CardFormat, card_formats
from panel.core.paper.payload import token_hash
from panel.core.questions import Answer
from panel.core.reconcile import Copy, last_of_each
from panel.services import ballot_door
from panel.services.ballot_door import Receipt
from panel.services.own_cards import require_own_card
from panel.services.take_ballot import Serving, served_tray, serving_of
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import readings as readings_store
from panel.store import trays as trays_store

BLANK = "blank"
"""scanning.Reason.BLANK, whose module is not loaded for it."""


class Before(StrEnum):
    """How a card that is not clear stands to the ballot of its tray that is in already."""

    AGREES = "agrees"  # what can be read of it says the same
    DIFFERS = "differs"
    EMPTY = "empty"  # nothing is marked on it
    DECIDED = "decided"  # a person has looked at this very picture
    OPEN = "open"  # the deciding answer cannot be read: nobody knows yet


@dataclass(frozen=True, kw_only=True)
class ReadCard:
    """One card that was found. `receipt` where it became a ballot; else `doubts` say why not.

    `sitting`: the id of the sitting it belongs to, "" where that is not known. `before`: of a card
    that is not clear, how it stands to the ballot that is in; None where there is none. `refused`:
    keyed in by hand it would be refused as well. `reading`: the number under which the reading is
    kept, None for a code that belongs to no card here. `crop`: a JPEG of a card that is not taken.
    """

    page: int
    card: str
    sitting: str = ""
    receipt: Receipt | None = None
    doubts: tuple[Message, ...] = ()
    before: Before | None = None
    refused: bool = False
    reading: int | None = None
    crop: bytes | None = None


@dataclass(frozen=True)
class PageRead:
    """One page of a file: its cards, none where no code was found."""

    number: int
    pages: int
    cards: tuple[ReadCard, ...]


def read_cards(at: Workplace, actor: Actor, comparison_id: str, data: bytes) -> Iterator[PageRead]:
    """Reads a file page by page: JPEG, PNG, TIFF or PDF.

    A card whose every mark is clear is taken like a keyed one; any other waits for a person. What
    was read is kept at once, page by page. PanelError where the file is none that can be read.
    """
    file_hash = hashlib.sha256(data).hexdigest()
    for page in scanning.read_file(data, candidates(at, actor, comparison_id)):
        came = Came(channel=Channel.SCANNED, file_hash=file_hash, page=page.number)
        cards = tuple(_taken(at, actor, came, card) for card in page.cards)
        yield PageRead(page.number, page.pages, cards)


def candidates(at: Workplace, actor: Actor, comparison_id: str) -> scanning.Candidates:
    """Says which cards a code may belong to: its tray's, in each size that fits."""

    def cards(text: str) -> tuple[scanning.CardKnown, ...]:
        with at.units.read() as session:
            serving = served_by_code(session, text)
        if serving is None:
            return ()
        if serving.comparison.id != comparison_id:
            raise PanelError(
                "card-of-another-comparison",
                say("This card belongs to another comparison. Read it there."),
                Fault.MISSING,
            )
        require_own_card(actor, serving.comparison, serving.tray)
        method = method_named(serving.comparison.plan.method)
        return tuple(
            scanning.CardKnown(
                layout=card_layout(
                    serving.questions,
                    method.cups_of(serving.comparison.plan),
                    method.references,
                    one,
                ),
                questions=serving.questions,
                codes=serving.tray.codes(),
                number=card_number(serving.tray.number),
            )
            for one in fitting(serving)
        )

    return cards


def served_by_code(session: Session, text: str) -> Serving | None:
    """The tray of a QR code's text; None if no card of this installation has it."""
    token = text.rstrip("/").rpartition("/")[2].upper()
    found = trays_store.by_token_hash(session, token_hash(token))
    return None if found is None else serving_of(session, found.ref)


def fitting(serving: Serving) -> tuple[CardFormat, ...]:
    """The cards of the sitting's paper that hold the plan's questions, smallest first."""
    method = method_named(serving.comparison.plan.method)
    found: list[CardFormat] = []
    for one in card_formats(serving.sitting.paper):
        try:
            card_layout(
                serving.questions, method.cups_of(serving.comparison.plan), method.references, one
            )
        except PanelError:
            continue
        found.append(one)
    return tuple(found)


def _taken(at: Workplace, actor: Actor, came: Came, card: scanning.ReadOnPage) -> ReadCard:
    """The ballot, the reading and the lines of the record in one transaction."""
    read = card.read
    with at.units.begin() as session:
        serving = served_by_code(session, card.text) if read.number else None
        if serving is None:
            return ReadCard(page=came.page, card="", doubts=_doubts(None, read))
        desk = _Desk(session, at, actor, serving, came)
        if read.open:
            return desk.put_before_a_person(read, _doubts(serving, read))
        return desk.take(read)


@dataclass(frozen=True)
class _Desk:
    """Where one card of one page lies while it is decided what becomes of it."""

    session: Session
    at: Workplace
    actor: Actor
    serving: Serving
    came: Came

    @property
    def place(self) -> tuple[str, int]:
        return self.serving.comparison.id, self.serving.tray.number

    def take(self, read: CardRead) -> ReadCard:
        """A clear card becomes a ballot, unless a person has decided about this card before: no
        later picture overrules them unseen."""
        earlier = readings_store.of_trays(self.session, self.place[0], [self.place[1]])
        same = next((one for one in reversed(earlier) if one.came == self.came), None)
        if any(one.decision is not None for one in earlier):
            return self.put_before_a_person(read, (DECIDED_OTHERWISE,))
        if same is not None and same.revision is not None:
            copies = ballots_store.revisions(self.session, *self.place)
            ballot = next(one for one in copies if one.revision == same.revision)
            receipt = ballot_door.receipt(self.serving.tray, ballot, Copy.SAME)
            return self.found(read, same.number, receipt=receipt)
        served = served_tray(self.serving)
        try:
            receipt = ballot_door.take(
                self.session, self.at, self.actor, served, Channel.SCANNED, read.answers, ""
            )
        except PanelError as refusal:  # before anything was written
            said = refusal.message
            number = self.keep(read, ReadingStanding.REFUSED, reason=said)
            return self.found(read, number, doubts=(said,), refused=True, crop=read.picture)
        standing = BECAME.get(receipt.copy, ReadingStanding.TAKEN)
        number = self.keep(read, standing, revision=receipt.revision)
        return self.found(read, number, receipt=receipt)

    def put_before_a_person(self, read: CardRead, doubts: tuple[Message, ...]) -> ReadCard:
        """Kept with its picture, and nothing else done."""
        before = _before(self.serving, read, _kept(self.session, self.serving))
        same = readings_store.again(self.session, *self.place, self.came)
        if same is not None and same.decision is not None:
            before = Before.DECIDED
        done = before in (Before.AGREES, Before.EMPTY, Before.DECIDED)
        number = self.keep(read, ReadingStanding.SAME if done else ReadingStanding.WAITING)
        return self.found(read, number, doubts=doubts, before=before, crop=read.picture)

    def found(self, read: CardRead, number: int, **facts: Any) -> ReadCard:
        sitting = self.serving.sitting.id
        return ReadCard(
            page=self.came.page, card=read.number, sitting=sitting, reading=number, **facts
        )

    def keep(
        self,
        read: CardRead,
        standing: ReadingStanding,
        reason: Message | None = None,
        revision: int | None = None,
    ) -> int:
        """Its number. The same page of the same file is one reading, however often it is sent; one
        that was refused may be taken later."""
        before = readings_store.again(self.session, *self.place, self.came)
        refused = ReadingStanding.REFUSED
        if before is not None and (before.standing is not refused or standing is refused):
            return before.number
        reading = KeptReading(
            number=0,
            tray=self.place[1],
            came=self.came,
            read_at=self.at.now(),
            read=read,
            picture_hash=hashlib.sha256(read.picture).hexdigest() if read.picture else "",
            standing=standing,
            reason=reason,
            revision=revision,
        )
        return readings_store.add(self.session, self.place[0], reading).number


BECAME = {Copy.SAME: ReadingStanding.SAME, Copy.QUESTION: ReadingStanding.IN_QUESTION}
"""What became of a clear card; of every other copy: taken."""


NOTHING_MARKED = say("Nothing is marked on this card.")
DECIDED_OTHERWISE = say(
    "Somebody has decided about this card before, from another picture, so this one is not taken "
    "by itself."
)


def _kept(session: Session, serving: Serving) -> tuple[Mapping[str, Answer], ...]:
    """The answers that are in of a tray, of each channel its last; () if none is."""
    number = serving.tray.number
    copies = ballots_store.revisions(session, serving.comparison.id, number)
    in_time = tuple(copy for copy in copies if not copy.late)
    return tuple(copy.answers for copy in last_of_each(in_time).values())


def _before(
    serving: Serving,
    reading: CardRead,
    kept: tuple[Mapping[str, Answer], ...],
) -> Before | None:
    """How what can be read stands to what is in: by the answers that machines compare."""
    if not kept:
        return None
    if is_empty(reading):
        return Before.EMPTY
    clear = {name: reading.answers[name] for name in serving.machine_read & set(reading.answers)}
    if any(one[name] != clear[name] for one in kept for name in clear.keys() & one.keys()):
        return Before.DIFFERS
    return Before.AGREES if serving.deciding in clear else Before.OPEN


def is_empty(reading: CardRead) -> bool:
    """Whether nothing is marked on a card that was read whole."""
    return (
        bool(reading.open)
        and not any(reading.answers.values())
        and all(one.reason == BLANK for one in reading.open)
    )


def _doubts(serving: Serving | None, reading: CardRead) -> tuple[Message, ...]:
    """What a person has to look at, each with the question that it is about; once each."""
    if is_empty(reading):
        return (NOTHING_MARKED,)
    asked = {one.id: one.short for one in serving.questions} if serving else {}
    said = (
        say("%(question)s: %(doubt)s", question=asked[one.question], doubt=one.message)
        if one.question in asked
        else one.message
        for one in reading.open
    )
    return tuple(dict.fromkeys(said))
