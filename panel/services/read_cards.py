"""Photographed and scanned cards: each becomes a ballot through the one door, or is put before a
person with the reason. Nothing is guessed, and no picture is kept."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from io import BytesIO

from sqlalchemy.orm import Session

from panel import scanning
from panel.core.allocation.check_letter import card_number
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.names import Channel, Paper
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CardFormat, card_formats
from panel.core.paper.payload import token_hash
from panel.core.questions import Answer
from panel.core.reconcile import last_of_each
from panel.services.own_cards import require_own_card
from panel.services.take_ballot import Receipt, Serving, serving_of, take_keyed
from panel.services.workplace import Actor, Workplace
from panel.store import ballots as ballots_store
from panel.store import trays as trays_store

NEVER_FITTED = frozenset({"corners", "bent", "faint", "crowded"})  # scanning.Reason, still lazy
"""Reasons for which a card may only have been taken for one of another size."""
BLANK = "blank"  # likewise


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
    keyed in by hand it would be refused as well. `crop` is a PNG of the card, for whoever has to
    look at it; it is shown and not kept.
    """

    page: int
    card: str
    sitting: str = ""
    receipt: Receipt | None = None
    doubts: tuple[Message, ...] = ()
    before: Before | None = None
    refused: bool = False
    crop: bytes | None = None


@dataclass(frozen=True)
class PageRead:
    """One page of a file: its cards, none where no code was found."""

    number: int
    pages: int
    cards: tuple[ReadCard, ...]


def read_cards(at: Workplace, actor: Actor, comparison_id: str, data: bytes) -> Iterator[PageRead]:
    """Reads a file page by page: JPEG, PNG, TIFF or PDF.

    A card whose every mark is clear is taken like a keyed one; any other waits for a person.
    PanelError where the file is none that can be read.
    """
    for page in scanning.pages_of(data):
        found = _readings(at, actor, comparison_id, page.picture)
        cards = tuple(_taken(at, actor, comparison_id, page.number, reading) for reading in found)
        yield PageRead(page.number, page.count, cards)


def _readings(
    at: Workplace, actor: Actor, comparison_id: str, picture: scanning.Picture
) -> tuple[scanning.CardReading, ...]:
    """The readings of a page; a card that does not fit one size is tried as the next."""
    tries = max(len(card_formats(paper)) for paper in Paper)
    best: dict[str, scanning.CardReading] = {}
    for size in range(tries):
        known = _known(at, actor, comparison_id, size)
        for reading in scanning.read_page(picture, known):
            if reading.text not in best or (
                _never_fitted(best[reading.text]) and not _never_fitted(reading)
            ):
                best[reading.text] = reading
        if not any(map(_never_fitted, best.values())):
            break
    return tuple(best.values())


def _never_fitted(reading: scanning.CardReading) -> bool:
    return any(one.question is None and one.reason in NEVER_FITTED for one in reading.open)


def _known(at: Workplace, actor: Actor, comparison_id: str, size: int) -> scanning.Known:
    """Says which card a code belongs to, taken for one of the `size`th size of its paper."""

    def known(text: str) -> scanning.CardKnown | None:
        token = text.rstrip("/").rpartition("/")[2].upper()
        with at.units.read() as session:
            serving = _served(session, token)
        if serving is None:
            return None
        if serving.comparison.id != comparison_id:
            raise PanelError(
                "card-of-another-comparison",
                say("This card belongs to another comparison. Read it there."),
                Fault.MISSING,
            )
        require_own_card(actor, serving.comparison, serving.tray)
        method = method_named(serving.comparison.plan.method)
        formats = _fitting(serving)
        return scanning.CardKnown(
            layout=card_layout(
                serving.questions,
                method.cups,
                method.references,
                formats[min(size, len(formats) - 1)],
            ),
            questions=serving.questions,
            codes=serving.tray.codes(),
            number=card_number(serving.tray.number),
        )

    return known


def _served(session: Session, token: str) -> Serving | None:
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
    at: Workplace, actor: Actor, comparison_id: str, page: int, reading: scanning.CardReading
) -> ReadCard:
    card = reading.number or ""
    with at.units.read() as session:
        serving = _served(session, reading.token) if card else None
        kept = _kept(session, serving)
    found = ReadCard(page=page, card=card, sitting=serving.sitting.id if serving else "")
    if reading.open or serving is None:
        doubts = _doubts(serving, reading)
        before = _before(serving, reading, kept)
        return replace(found, doubts=doubts, before=before, crop=_png(reading.crop))
    try:
        receipt = take_keyed(
            at, actor, comparison_id, card, reading.answers, "", channel=Channel.SCANNED
        )
    except PanelError as refusal:
        return replace(found, doubts=(refusal.message,), refused=True, crop=_png(reading.crop))
    return replace(found, receipt=receipt)


def _kept(session: Session, serving: Serving | None) -> tuple[Mapping[str, Answer], ...]:
    """The answers that are in of a tray, of each channel its last; () if none is."""
    if serving is None:
        return ()
    number = serving.tray.number
    copies = ballots_store.revisions(session, serving.comparison.id, number)
    in_time = tuple(copy for copy in copies if not copy.late)
    return tuple(copy.answers for copy in last_of_each(in_time).values())


def _before(
    serving: Serving | None,
    reading: scanning.CardReading,
    kept: tuple[Mapping[str, Answer], ...],
) -> Before | None:
    """How what can be read stands to what is in: by the answers that machines compare."""
    if serving is None or not kept:
        return None
    if _is_empty(reading):
        return Before.EMPTY
    clear = {name: reading.answers[name] for name in serving.machine_read & set(reading.answers)}
    if any(one[name] != clear[name] for one in kept for name in clear.keys() & one.keys()):
        return Before.DIFFERS
    return Before.AGREES if serving.deciding in clear else Before.OPEN


def _is_empty(reading: scanning.CardReading) -> bool:
    return (
        bool(reading.open)
        and not any(reading.answers.values())
        and all(one.reason == BLANK for one in reading.open)
    )


def _doubts(serving: Serving | None, reading: scanning.CardReading) -> tuple[Message, ...]:
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


def _png(crop: scanning.Picture | None) -> bytes | None:
    if crop is None:
        return None
    from PIL import Image  # only here, so that starting the service does not load it

    out = BytesIO()
    Image.fromarray(crop).save(out, "PNG", optimize=True)
    return out.getvalue()
