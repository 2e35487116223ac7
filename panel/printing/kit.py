"""The kit of a sitting: which sheets it has, how many pages, who gets each. Each is its own PDF.

The small evening kit is what is printed unasked; everything else is there on request. Page counts
are said before anything is printed. A sheet that shows which cup is which says so (`shows_key`):
it is made for one pair of eyes, sent as it is made, and kept nowhere.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

from panel.core.allocation.written_secret import WrittenSecret
from panel.core.comparison import Key, Sitting, Tray
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say, say_n
from panel.core.methods import method_named
from panel.core.names import Information, SittingKind
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CardFormat, card_formats
from panel.core.paper.stock import PLAIN, Stock, sheets_needed
from panel.core.quantities import usual_spare_trays
from panel.core.side_questions import ballot_questions
from panel.printing import (
    new_address,
    parcel_sheet,
    poster,
    pour_mat,
    pour_sheet,
    repeat_sheet,
    sealed_key,
    sign_in_sheet,
    steward_page,
    told_slips,
    tray_mats,
)
from panel.printing.ballot_cards import CardAddresses, ballot_cards
from panel.printing.canvas import Progress
from panel.printing.cup_labels import cup_labels
from panel.printing.rings import CupSize
from panel.printing.sheet import Order


@dataclass(frozen=True, kw_only=True)
class Job:
    """Everything from which a kit is made. `key` may be left out where no sheet of the pourer's
    is wanted; `cards` where no ballot card is; `result_address`: where seal and result stand, as
    typed, `result_link` the same whole, `lasting` where the result stays; `secret` goes on the
    sealed key; `informed`: trays that lots of a split sitting have informed, shut as the key is."""

    order: Order
    key: Key | None = None
    secret: WrittenSecret | None = None
    informed: frozenset[int] = frozenset()
    cards: CardAddresses | None = None
    card: CardFormat | None = None
    labels: Stock | None = None
    skip_labels: int = 0
    cup: CupSize = field(default_factory=CupSize)
    result_address: str = ""
    result_link: str = ""
    lasting: str = ""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A kind of sheet: its name in addresses and files, its title, who gets it, how it is made;
    whether it shows what rests under the seal, and whether only a split sitting has it."""

    name: str
    title: Message
    goes_to: Message
    kinds: tuple[SittingKind, ...]
    usual: tuple[SittingKind, ...]
    shows_key: bool = False
    of_split: bool = False
    pages: Callable[[Job], int]
    make: Callable[[Job], bytes]


@dataclass(frozen=True, kw_only=True)
class Content:
    """A line of the kit's list: what it is, how many pages, who gets it, whether it is usual."""

    name: str
    title: Message
    goes_to: Message
    pages: int
    usual: bool
    shows_key: bool


def printed_trays(trays: Iterable[Tray], sitting: Sitting, spares: int | None = None) -> list[Tray]:
    """Of all trays drawn those that are printed: the planned ones and the first spare ones."""
    in_turn = sorted(trays, key=lambda tray: tray.number)
    wanted = usual_spare_trays(sitting) if spares is None else spares
    spare = [tray for tray in in_turn if tray.spare]
    return [tray for tray in in_turn if not tray.spare] + spare[:wanted]


def contents(job: Job) -> tuple[Content, ...]:
    """The kit's list for this sitting, usual sheets first in the order in which they are used.

    Without a key in the job, the sheets that show it are left out.
    """
    order = job.order
    found = [
        Content(
            name=piece.name,
            title=piece.title,
            goes_to=piece.goes_to,
            pages=piece.pages(job),
            usual=order.sitting.kind in piece.usual,
            shows_key=piece.shows_key,
        )
        for piece in PIECES.values()
        if belongs(piece, order.sitting) and (job.key is not None or not piece.shows_key)
    ]
    return tuple(sorted(found, key=lambda content: not content.usual))


def shut(job: Job) -> tuple[Content, ...]:
    """The sheets that show the key, listed without it: their pages cannot be counted (0)."""
    sitting = job.order.sitting
    found = [
        Content(
            name=piece.name,
            title=piece.title,
            goes_to=piece.goes_to,
            pages=0,
            usual=sitting.kind in piece.usual,
            shows_key=True,
        )
        for piece in PIECES.values()
        if belongs(piece, sitting) and piece.shows_key
    ]
    return tuple(sorted(found, key=lambda content: not content.usual))


def page_count_said(listed: Iterable[Content]) -> Message:
    """How much paper it is, said before anything is printed."""
    listed = tuple(listed)
    return say_n(
        "This is 1 page.",
        "These are %(count)s pages in %(files)s files.",
        sum(content.pages for content in listed),
        files=len(listed),
    )


def sheets(job: Job) -> dict[str, Callable[[Progress | None], bytes]]:
    """Name to a function that makes the PDF and tells its progress by pages; usual ones first."""
    return {content.name: _maker(content.name, job) for content in contents(job)}


def sheet(name: str, job: Job, progress: Progress | None = None) -> bytes:
    """One sheet by its name; PanelError "unknown-sheet" if this sitting has none of that name."""
    piece = PIECES.get(name)
    if piece is None or not belongs(piece, job.order.sitting):
        raise PanelError(
            "unknown-sheet",
            say("This sitting’s kit has no sheet “%(name)s”.", name=name),
            Fault.MISSING,
        )
    return piece.make(replace(job, order=replace(job.order, progress=progress)))


def file_name(job: Job, name: str) -> str:
    """A file name that says which sitting and which kind, and nothing of the question."""
    return f"{job.order.sitting.id}-{name}.pdf"


def belongs(piece: Piece, sitting: Sitting) -> bool:
    """Whether a sitting of that kind has such a sheet."""
    split = sitting.information is Information.SPLIT
    return sitting.kind in piece.kinds and (split or not piece.of_split)


def _maker(name: str, job: Job) -> Callable[[Progress | None], bytes]:
    def make(progress: Progress | None = None) -> bytes:
        return sheet(name, job, progress)

    return make


def _key(job: Job) -> Key:
    if job.key is None:
        raise PanelError(
            "no-key",
            say("This sheet shows which cup is which, and needs the key."),
            Fault.FORBIDDEN,
        )
    return job.key


def _told(job: Job) -> frozenset[int]:
    """Who is told rests with the key, and is known only where that is."""
    _key(job)
    return job.informed


def _card_format(job: Job) -> CardFormat:
    """The card asked for, else the smallest of the paper that holds the plan's questions."""
    if job.card is not None:
        return job.card
    plan = job.order.comparison.plan
    method = method_named(plan.method)
    *smaller, largest = (
        card for card in card_formats(job.order.sitting.paper) if not card.large_print
    )
    for card in smaller:
        try:
            card_layout(
                ballot_questions(method, plan), method.cups_of(plan), method.references, card
            )
        except PanelError:
            continue
        return card
    return largest


def _stock(job: Job) -> Stock:
    return job.labels or PLAIN[job.order.sitting.paper]


def _card_addresses(job: Job) -> CardAddresses:
    if job.cards is None or job.order.comparison.seal is None:
        raise PanelError(
            "no-addresses",
            say("Ballot cards need their addresses: seal the comparison first."),
            Fault.STANDING,
        )
    return job.cards


def _cards(job: Job) -> bytes:
    comparison = job.order.comparison
    addresses = _card_addresses(job)
    assert comparison.seal is not None  # or there would be no trays to have an address
    method = method_named(comparison.plan.method)
    return ballot_cards(
        job.order,
        ballot_questions(method, comparison.plan),
        format=_card_format(job),
        addresses=addresses,
        digest=bytes.fromhex(comparison.seal.digest),
        references=method.references,
    )


def _card_pages(job: Job) -> int:
    return -(-len(job.order.trays) // _card_format(job).sheet.count)


def _label_pages(job: Job) -> int:
    cups = sum(len(tray.cups) for tray in job.order.trays)
    return sheets_needed(_stock(job), cups, job.skip_labels)


TABLE, PARCEL, REPEAT = SittingKind.TABLE, SittingKind.PARCEL, SittingKind.REPEAT
ALL = (TABLE, PARCEL, REPEAT)


def _posted(job: Job) -> tuple[Order, str, str, str]:
    return job.order, job.result_address, job.result_link, job.lasting


PIECES: dict[str, Piece] = {
    piece.name: piece
    for piece in (
        Piece(
            name="pour-mats",
            title=pour_mat.SHEET,
            goes_to=say("for the pourer alone; they stay behind the door and are destroyed after"),
            kinds=ALL,
            usual=ALL,
            shows_key=True,
            pages=lambda job: len(pour_mat.pour_mat_pages(job.order, _key(job), job.cup)),
            make=lambda job: pour_mat.pour_mats(job.order, _key(job), job.cup),
        ),
        Piece(
            name="pour-sheet",
            title=pour_sheet.SHEET,
            goes_to=say("for the pourer alone; it comes back to the organiser after closing"),
            kinds=ALL,
            usual=(TABLE, PARCEL),
            shows_key=True,
            pages=lambda job: len(pour_sheet.pour_sheet_pages(job.order, _key(job))),
            make=lambda job: pour_sheet.pour_sheet(job.order, _key(job)),
        ),
        Piece(
            name="cup-labels",
            title=say("Cup labels"),
            goes_to=say("for the pourer: on dry cups before anything is poured"),
            kinds=ALL,
            usual=ALL,
            pages=_label_pages,
            make=lambda job: cup_labels(job.order, _stock(job), job.skip_labels),
        ),
        Piece(
            name="ballot-cards",
            title=say("Ballot cards"),
            goes_to=say("for the trays, one each; the taster keeps the stub"),
            kinds=ALL,
            usual=(TABLE, PARCEL),
            pages=_card_pages,
            make=_cards,
        ),
        Piece(
            name="told-slips",
            title=told_slips.SHEET,
            goes_to=say("for whoever folds them and does not serve; folded, one to each tray"),
            kinds=(TABLE,),
            usual=(TABLE,),
            shows_key=True,
            of_split=True,
            pages=lambda job: len(told_slips.told_slip_pages(job.order, _told(job))),
            make=lambda job: told_slips.told_slips(job.order, _told(job)),
        ),
        Piece(
            name="steward-page",
            title=steward_page.SHEET,
            goes_to=say("for the steward"),
            kinds=(TABLE,),
            usual=(TABLE,),
            pages=lambda job: len(steward_page.steward_pages(job.order)),
            make=lambda job: steward_page.steward_page(job.order),
        ),
        Piece(
            name="sign-in",
            title=sign_in_sheet.SHEET,
            goes_to=say("for the door: beside the steward page, or on its back"),
            kinds=(TABLE,),
            usual=(TABLE,),
            pages=lambda job: len(sign_in_sheet.sign_in_pages(job.order)),
            make=lambda job: sign_in_sheet.sign_in_sheet(job.order),
        ),
        Piece(
            name="parcel-sheets",
            title=parcel_sheet.SHEET,
            goes_to=say(
                "for the parcels, one each; carrier’s and local rules first: contents, strength "
                "and allergens on every container"
            ),
            kinds=(PARCEL,),
            usual=(PARCEL,),
            pages=lambda job: len(parcel_sheet.parcel_pages(job.order)),
            make=lambda job: parcel_sheet.parcel_sheets(job.order),
        ),
        Piece(
            name="repeat-sheet",
            title=repeat_sheet.SHEET,
            goes_to=say("for the one who tastes"),
            kinds=(REPEAT,),
            usual=(REPEAT,),
            pages=lambda job: len(repeat_sheet.repeat_pages(job.order)),
            make=lambda job: repeat_sheet.repeat_sheet(job.order),
        ),
        Piece(
            name="sealed-key",
            title=sealed_key.SHEET,
            goes_to=say("for somebody who neither pours nor serves nor tastes: fold and tape it"),
            kinds=ALL,
            usual=ALL,
            shows_key=True,
            pages=lambda job: len(
                sealed_key.sealed_key_pages(job.order, _key(job), job.informed, job.secret)
            ),
            make=lambda job: sealed_key.sealed_key(job.order, _key(job), job.informed, job.secret),
        ),
        Piece(
            name="tray-mats",
            title=tray_mats.SHEET,
            goes_to=say("for the trays, one each"),
            kinds=(TABLE,),
            usual=(),
            pages=lambda job: len(tray_mats.tray_mat_pages(job.order, job.cup)),
            make=lambda job: tray_mats.tray_mats(job.order, job.cup),
        ),
        Piece(
            name="poster",
            title=poster.SHEET,
            goes_to=say("for the wall, before the first cup"),
            kinds=ALL,
            usual=(),
            pages=lambda job: len([poster.poster_page(*_posted(job))]),
            make=lambda job: poster.poster(*_posted(job)),
        ),
        Piece(
            name="new-address",
            title=new_address.SHEET,
            goes_to=say("for the wall and the trays, if the address changed after printing cards"),
            kinds=(TABLE, PARCEL),
            usual=(),
            pages=lambda job: len(new_address.new_address_pages(job.order, _card_addresses(job))),
            make=lambda job: new_address.new_address(job.order, _card_addresses(job)),
        ),
    )
}
"""Every kind of sheet, in the order in which an evening needs them."""
