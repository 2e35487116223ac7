"""The kit of a sitting: what it has, and each sheet when it is asked for. Nothing is kept."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from sqlalchemy.orm import Session

from panel.catalogue import speaker
from panel.core.blinded_view import pourers_view
from panel.core.comparison import Comparison, Sitting, Tray
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import Message, say
from panel.core.names import Role, Standing
from panel.core.paper.card_format import CardFormat, card_format_named
from panel.core.paper.payload import qr_address, tray_tokens
from panel.core.paper.stock import Stock
from panel.core.typed_address import typed
from panel.core.visibility import Sight, require_sight
from panel.printing import kit, ruler_page, whole_kit
from panel.printing.ballot_cards import CardAddresses
from panel.printing.canvas import Progress
from panel.printing.kit import Content, Job
from panel.printing.sheet import Order
from panel.services.addresses import lasting_link, seal_link
from panel.services.correct_printer import printer_of
from panel.services.keep_key import require_keeper, require_keeper_or_organiser
from panel.services.lock_key import passphrase_of
from panel.services.plan_comparison import existing, sitting_of
from panel.services.record import record
from panel.services.sealed_key import Passphrase, is_locked, unwrap
from panel.services.workplace import Actor, Workplace
from panel.settings import Settings
from panel.store import trays as trays_store

CARDS = "ballot-cards"
POURERS = ("pour-mats", "pour-sheet")
"""Sheets that a pourer may print from their own link."""
RULER = "ruler-page"
EVERYTHING = "everything"


@dataclass(frozen=True, kw_only=True)
class Paperwork:
    """How a kit is to be printed: card and label formats by name ("" for the usual ones), labels
    that are used up on the first sheet, and spare trays beyond the usual."""

    card: str = ""
    labels: Stock | None = None
    skip_labels: int = 0
    spares: int | None = None


@dataclass(frozen=True)
class SheetInfo:
    """A line of the kit's list: `who` gets it; `shows_key`, it tells which cup is which. `pages` is
    0 where they cannot be counted yet."""

    name: str
    title: Message
    pages: int
    who: Message
    on_request: bool
    shows_key: bool


@dataclass(frozen=True)
class Printed:
    """A sheet ready to be sent."""

    filename: str
    pdf: bytes


USUAL = Paperwork()


def contents(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    sitting_id: str,
    paperwork: Paperwork = USUAL,
) -> tuple[SheetInfo, ...]:
    """The sheets of a sitting's kit with their page counts, usual ones first; without those that
    show the key while a passphrase is on it."""
    actor.require_organiser()
    with at.units.read() as session:
        with_key = not is_locked(session, comparison_id)
        job = _job(session, at, comparison_id, sitting_id, paperwork, with_key=with_key)
        return tuple(_info(content) for content in kit.contents(job))


def sheet(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    sitting_id: str,
    name: str,
    paperwork: Paperwork = USUAL,
    progress: Progress | None = None,
) -> Printed:
    """One sheet as a PDF. One that shows the key is `key_sheet`'s to make."""
    actor.require_organiser()
    if shows_key(name):
        raise PanelError(
            "shows-key",
            say("This sheet shows which cup is which. Ask for it on the kit's page."),
            Fault.FORBIDDEN,
        )
    with at.units.read() as session:
        job = _job(session, at, comparison_id, sitting_id, paperwork, with_key=False)
    return Printed(kit.file_name(job, name), kit.sheet(name, job, progress))


def key_sheet(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    sitting_id: str,
    name: str,
    paperwork: Paperwork = USUAL,
    progress: Progress | None = None,
    passphrase: str = "",
) -> Printed:
    """One sheet that shows which cup is which, for the organiser, the key holder, or a pourer of
    that sitting (the pourer's sheets alone); printing it is recorded. While the key holder's
    passphrase is on the key, for the key holder alone, with it."""
    under = passphrase_of(at, actor, comparison_id, passphrase)
    with at.units.begin() as session:
        job = _job(session, at, comparison_id, sitting_id, paperwork, with_key=True, under=under)
        job = _as_allowed(session, actor, job, name)
        record(session, at, actor, comparison_id, Deed.KEY_PRINTED, sitting_id, sheet=name)
    return Printed(kit.file_name(job, name), kit.sheet(name, job, progress))


def everything(
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    sitting_id: str,
    paperwork: Paperwork = USUAL,
    progress: Progress | None = None,
) -> Printed:
    """The usual sheets as one file, under a cover that says who gets which pages. What shows the
    key goes in, and is recorded as each sheet alone would be, only where the organiser may print
    it; else the cover says who prints it."""
    actor.require_organiser()
    with at.units.begin() as session:
        with_key = _organiser_prints_key(session, actor, comparison_id)
        job = _job(session, at, comparison_id, sitting_id, paperwork, with_key=with_key)
        for one in whole_kit.usual_sheets(job):
            if one.shows_key:
                job = _as_allowed(session, actor, job, one.name)
                record(
                    session, at, actor, comparison_id, Deed.KEY_PRINTED, sitting_id, sheet=one.name
                )  # fmt: skip
    return Printed(kit.file_name(job, EVERYTHING), whole_kit.whole_kit(job, progress))


def pages_of_everything(
    known: Comparison, listed: Iterable[SheetInfo], paperwork: Paperwork = USUAL
) -> int:
    """How many pages `everything` has, its cover among them; listed: `contents` of that sitting."""
    stock = paperwork.labels
    return 1 + sum(
        sheet.pages
        for sheet in listed
        if not sheet.on_request
        and not whole_kit.printed_apart(sheet.name, stock)
        and not (sheet.shows_key and known.duties.organiser_tastes)
    )


def _organiser_prints_key(session: Session, actor: Actor, comparison_id: str) -> bool:
    """Whether the sheets that show the key are the organiser's to print: they do not taste, no
    passphrase is on the key, and the comparison stands where pouring may be seen."""
    known = existing(session, comparison_id)
    if is_locked(session, comparison_id):
        return False
    try:
        tastes = known.duties.organiser_tastes
        require_sight(
            actor.role, Sight.POURING, known.standing, known.blinding, organiser_tastes=tastes
        )
    except PanelError:
        return False
    return True


def key_contents(
    at: Workplace, actor: Actor, comparison_id: str, sitting_id: str
) -> tuple[SheetInfo, ...]:
    """The sheets of a sitting's kit that show what is sealed, for its key holder; without their
    page counts while a passphrase is on the key."""
    with at.units.read() as session:
        require_keeper_or_organiser(session, actor, comparison_id)
        with_key = not is_locked(session, comparison_id)
        job = _job(session, at, comparison_id, sitting_id, USUAL, with_key=with_key)
    listed = kit.contents(job) if with_key else kit.shut(job)
    return tuple(_info(content) for content in listed if content.shows_key)


def _as_allowed(session: Session, actor: Actor, job: Job, name: str) -> Job:
    """The job as whoever asks may print it; PanelError (fault FORBIDDEN) if they may not."""
    known, sitting = job.order.comparison, job.order.sitting
    sight = Sight.POURING
    if actor.role is Role.KEY_HOLDER:
        require_keeper(session, actor, known.id)
        sight = Sight.KEY
    elif actor.role is Role.POURER:
        if (actor.comparison, actor.sitting) != (known.id, sitting.id) or name not in POURERS:
            raise PanelError(
                "pourers-only",
                say("A pourer prints the pour mats and the pour sheet of their own sitting."),
                Fault.FORBIDDEN,
            )
        job = replace(job, order=replace(job.order, comparison=pourers_view(known)))
    else:
        actor.require_organiser()
    tastes = known.duties.organiser_tastes
    require_sight(actor.role, sight, known.standing, known.blinding, organiser_tastes=tastes)
    return job


def shows_key(name: str) -> bool:
    """Whether the sheet of that name shows which cup is which."""
    piece = kit.PIECES.get(name)
    return piece is not None and piece.shows_key


def ruler(at: Workplace, actor: Actor, sitting: Sitting) -> Printed:
    """The ruler page for a sitting's paper, printed through the correction that is set so far."""
    actor.require_organiser()
    with at.units.read() as session:
        printer = printer_of(session, at.settings)
    pdf = ruler_page.ruler_page(
        sitting.paper,
        speak=speaker(sitting.language),
        language=sitting.language,
        printer=printer,
    )
    return Printed(f"{RULER}.pdf", pdf)


def reprint_card(at: Workplace, actor: Actor, comparison_id: str, number: int) -> Printed:
    """A new card for one tray, without the key: the old card's code opens nothing any more."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        tray = trays_store.load(session, comparison_id, number)
        if tray is None or known.standing not in (Standing.SEALED, Standing.SERVING):
            raise PanelError(
                "no-card-to-reprint",
                say("There is no open card %(number)s to print again.", number=number),
                Fault.MISSING,
                field="card",
            )
        made = tray_tokens(at.instance_key, comparison_id, number, tray.version + 1)
        words = (made.token, made.short_code)
        trays_store.set_version(session, comparison_id, number, tray.version + 1, words)
        job = _job(session, at, comparison_id, tray.sitting, USUAL, with_key=False)
        again = replace(tray, version=tray.version + 1)
        job = _with_trays(at, job, (again,))
        record(session, at, actor, comparison_id, Deed.CARD_REPRINTED, str(number))
    return Printed(f"{tray.sitting}-card-{number}.pdf", kit.sheet(CARDS, job))


def reprint_labels(at: Workplace, actor: Actor, comparison_id: str, number: int) -> Printed:
    """The labels of one whole tray again, so that no single code stands out."""
    actor.require_organiser()
    with at.units.begin() as session:
        known = existing(session, comparison_id)
        tray = trays_store.load(session, comparison_id, number)
        if tray is None:
            raise PanelError(
                "no-such-tray",
                say("There is no card %(number)s in this comparison.", number=number),
                Fault.MISSING,
                field="card",
            )
        job = _job(session, at, known.id, tray.sitting, USUAL, with_key=False)
        job = _with_trays(at, job, (tray,))
        record(
            session, at, actor, known.id, Deed.SHEET_PRINTED, str(number), sheet="cup-labels"
        )  # fmt: skip
    return Printed(f"{tray.sitting}-labels-{number}.pdf", kit.sheet("cup-labels", job))


def result_address(settings: Settings, known: Comparison) -> str:
    """Where seal and result of a comparison stand on this installation, as people type it."""
    return typed(seal_link(settings, known))


def _job(
    session: Session,
    at: Workplace,
    comparison_id: str,
    sitting_id: str,
    paperwork: Paperwork,
    *,
    with_key: bool,
    under: Passphrase | None = None,
) -> Job:
    known = existing(session, comparison_id)
    sitting = sitting_of(known, sitting_id)
    if known.seal is None:
        raise PanelError(
            "not-sealed",
            say("Seal the comparison first: codes and orders are drawn then."),
            Fault.STANDING,
        )
    drawn = trays_store.of_sitting(session, comparison_id, sitting_id)
    secrets = unwrap(session, at, comparison_id, under) if with_key else None
    order = Order(
        comparison=known,
        sitting=sitting,
        trays=tuple(kit.printed_trays(drawn, sitting, paperwork.spares)),
        speak=speaker(sitting.language),
        printer=printer_of(session, at.settings),
    )
    job = Job(
        order=order,
        key=secrets.key if secrets else None,
        informed=secrets.informed if secrets else frozenset(),
        secret=secrets.written() if secrets else None,
        card=_card(paperwork),
        labels=paperwork.labels,
        skip_labels=paperwork.skip_labels,
        result_address=result_address(at.settings, known),
        result_link=seal_link(at.settings, known),
        lasting=typed(lasting_link(at.settings, known)) if at.settings.lasting_address else "",
    )
    return replace(job, cards=_addresses(at, known, order.trays))


def _with_trays(at: Workplace, job: Job, trays: tuple[Tray, ...]) -> Job:
    order = replace(job.order, trays=trays)
    return replace(job, order=order, cards=_addresses(at, order.comparison, trays))


def _card(paperwork: Paperwork) -> CardFormat | None:
    return card_format_named(paperwork.card) if paperwork.card else None


def _addresses(at: Workplace, known: Comparison, trays: tuple[Tray, ...]) -> CardAddresses:
    made = {
        tray.number: tray_tokens(at.instance_key, known.id, tray.number, tray.version)
        for tray in trays
    }
    address = at.settings.address
    return CardAddresses(
        codes={number: qr_address(address, token.token) for number, token in made.items()},
        short_codes={number: token.shown for number, token in made.items()},
        typed=f"{typed(address)}/card",
        door=f"{address.rstrip('/')}/card",
        result=typed(lasting_link(at.settings, known)),
    )


def _info(content: Content) -> SheetInfo:
    return SheetInfo(
        name=content.name,
        title=content.title,
        pages=content.pages,
        who=content.goes_to,
        on_request=not content.usual,
        shows_key=content.shows_key,
    )
