"""Photographed and scanned cards: each becomes a ballot through the one door, or is put before a
person with the reason. Nothing is guessed; what was read is kept beside its picture."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

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
from panel.services.take_ballot import Serving, serving_of
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import readings as readings_store
from panel.store import served_trays
from panel.store import trays as trays_store

BLANK = "blank"
"""scanning.Reason.BLANK, whose module is not loaded for it."""


class Before(StrEnum):
    """How a card that is not clear stands to the ballot of its tray that is in already."""

    AGREES = "agrees"  # what can be read of it says the same
    DIFFERS = "differs"
    EMPTY = "empty"  # nothing is marked on it
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
        cards = tuple(_taken(at, actor, comparison_id, came, card) for card in page.cards)
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
                layout=card_layout(serving.questions, method.cups, method.references, one),
                questions=serving.questions,
                codes=serving.tray.codes(),
                number=card_number(serving.tray.number),
            )
            for one in _fitting(serving)
        )

    return cards


def served_by_code(session: Session, text: str) -> Serving | None:
    """The tray of a QR code's text; None if no card of this installation has it."""
    token = text.rstrip("/").rpartition("/")[2].upper()
    found = trays_store.by_token_hash(session, token_hash(token))
    return None if found is None else serving_of(session, found.ref)


def _fitting(serving: Serving) -> tuple[CardFormat, ...]:
    """The cards of the sitting's paper that hold the plan's questions, smallest first."""
    method = method_named(serving.comparison.plan.method)
    fitting: list[CardFormat] = []
    for one in card_formats(serving.sitting.paper):
        try:
            card_layout(serving.questions, method.cups, method.references, one)
        except PanelError:
            continue
        fitting.append(one)
    return tuple(fitting)


def _taken(
    at: Workplace, actor: Actor, comparison_id: str, came: Came, card: scanning.ReadOnPage
) -> ReadCard:
    """The ballot, the reading and the lines of the record in one transaction."""
    read = card.read
    with at.units.begin() as session:
        serving = served_by_code(session, card.text) if read.number else None
        if serving is None:
            return ReadCard(page=came.page, card="", doubts=_doubts(None, read))
        found = ReadCard(page=came.page, card=read.number, sitting=serving.sitting.id)
        if read.open:
            before = _before(serving, read, _kept(session, serving))
            done = before in (Before.AGREES, Before.EMPTY)
            standing = ReadingStanding.SAME if done else ReadingStanding.WAITING
            number = _keep(session, at, serving, came, read, standing)
            doubts = _doubts(serving, read)
            return replace(found, doubts=doubts, before=before, crop=read.picture, reading=number)
        served = served_trays.by_ref(session, serving.tray.ref)
        assert served is not None
        try:
            receipt = ballot_door.take(
                session, at, actor, served, Channel.SCANNED, read.answers, ""
            )
        except PanelError as refusal:  # before anything was written
            said, refused = refusal.message, ReadingStanding.REFUSED
            number = _keep(session, at, serving, came, read, refused, reason=said)
            return replace(found, doubts=(said,), refused=True, crop=read.picture, reading=number)
        number = _keep(
            session, at, serving, came, read, BECAME.get(receipt.copy, ReadingStanding.TAKEN),
            revision=receipt.revision,
        )  # fmt: skip
        return replace(found, receipt=receipt, reading=number)


BECAME = {Copy.SAME: ReadingStanding.SAME, Copy.QUESTION: ReadingStanding.IN_QUESTION}
"""What became of a clear card; of every other copy: taken."""


def _keep(
    session: Session,
    at: Workplace,
    serving: Serving,
    came: Came,
    read: CardRead,
    standing: ReadingStanding,
    reason: Message | None = None,
    revision: int | None = None,
) -> int:
    """Its number. The same page of the same file is one reading, however often it is sent."""
    known, tray = serving.comparison.id, serving.tray.number
    before = readings_store.again(session, known, tray, came)
    if before is not None:
        return before.number
    reading = KeptReading(
        number=0,
        tray=tray,
        came=came,
        read_at=at.now(),
        read=read,
        picture_hash=hashlib.sha256(read.picture).hexdigest() if read.picture else "",
        standing=standing,
        reason=reason,
        revision=revision,
    )
    return readings_store.add(session, known, reading).number


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
    if _is_empty(reading):
        return Before.EMPTY
    clear = {name: reading.answers[name] for name in serving.machine_read & set(reading.answers)}
    if any(one[name] != clear[name] for one in kept for name in clear.keys() & one.keys()):
        return Before.DIFFERS
    return Before.AGREES if serving.deciding in clear else Before.OPEN


def _is_empty(reading: CardRead) -> bool:
    return (
        bool(reading.open)
        and not any(reading.answers.values())
        and all(one.reason == BLANK for one in reading.open)
    )


def _doubts(serving: Serving | None, reading: CardRead) -> tuple[Message, ...]:
    """What a person has to look at, each with the question that it is about; once each."""
    if _is_empty(reading):
        return (say("Nothing is marked on this card."),)
    asked = {one.id: one.short for one in serving.questions} if serving else {}
    said = (
        say("%(question)s: %(doubt)s", question=asked[one.question], doubt=one.message)
        if one.question in asked
        else one.message
        for one in reading.open
    )
    return tuple(dict.fromkeys(said))
