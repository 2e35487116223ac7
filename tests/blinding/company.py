"""Everybody who is at an evening, each with a browser of their own."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import StringIO

from panel.core.comparison import Tray
from panel.core.names import Role
from panel.services import sign_in
from panel.web import cookies
from tests.blinding.artefacts import Album, Reader, Statements, Visitor
from tests.blinding.event import Event
from tests.web.guest import Page

SHEETS: dict[str, Reader] = {
    "pour-mats": Reader.POURER,
    "pour-sheet": Reader.POURER,
    "cup-labels": Reader.TASTER,  # the pourer sticks them on, everybody sees them on the cups
    "ballot-cards": Reader.TASTER,
    "told-slips": Reader.KEY_HOLDER,  # who folds them and does not serve
    "steward-page": Reader.STEWARD,
    "sign-in": Reader.TASTER,
    "parcel-sheets": Reader.TASTER,
    "repeat-sheet": Reader.TASTER,
    "sealed-key": Reader.KEY_HOLDER,
    "tray-mats": Reader.TASTER,
    "poster": Reader.MEMBER,
    "new-address": Reader.TASTER,
}
"""Who ends up with each sheet of the kit. One that is not here fails the walk."""

PASSWORD = "four words in a row"

NOBODYS = "a" * 16


@dataclass
class Walk:
    """Everybody who is there, each with a browser of their own."""

    event: Event
    album: Album
    statements: Statements
    steward: Visitor
    pourer: Visitor
    member: Visitor
    organiser: Visitor
    phones: dict[int, Visitor]
    whole: bool

    def phone(self, tray: Tray, reader: Reader = Reader.TASTER) -> Visitor:
        """The phone of whoever has this tray."""
        if tray.number not in self.phones:
            self.phones[tray.number] = self.visitor(Reader.TASTER)
        phone = self.phones[tray.number]
        if reader is Reader.VOTER:
            phone.reader = reader
        return phone

    def start_over(self) -> Album:
        """A fresh album at the same stage, fresh phones and fresh chance; passes stay."""
        self.event.chance.begin("once more")
        self.album = Album(self.album.stage)
        for visitor in (self.steward, self.pourer, self.member, self.organiser):
            visitor.album = self.album
        self.phones = {}
        return self.album

    def visitor(self, reader: Reader) -> Visitor:
        """Somebody new."""
        return Visitor(self.event.app, self.album, reader, self.statements)

    @property
    def steward_at(self) -> str:
        """Where the steward's pages are."""
        return f"/steward/{self.event.id}/{self.event.sitting}"


def arrive(event: Event, whole: bool) -> Walk:
    """Steward and pourer open their links; nobody has looked at anything yet."""
    album, statements = Album(), Statements(event.at)
    new = {
        reader: Visitor(event.app, album, reader, statements)
        for reader in (Reader.STEWARD, Reader.POURER, Reader.MEMBER, Reader.ORGANISER)
    }
    for reader, role in ((Reader.STEWARD, Role.STEWARD), (Reader.POURER, Role.POURER)):
        visitor = new[reader]
        visitor.send(visitor.get(f"/in/{event.link(role)}"), "/in/")
    if whole:
        sign_in.set_up(event.at, str(sign_in.first_link(event.at)), "Robin", PASSWORD)
    return Walk(
        event=event,
        album=album,
        statements=statements,
        steward=new[Reader.STEWARD],
        pourer=new[Reader.POURER],
        member=new[Reader.MEMBER],
        organiser=new[Reader.ORGANISER],
        phones={},
        whole=whole,
    )


def sign_organiser_in(here: Walk) -> None:
    """Anew at each stage: a sign-in does not last through the hours between."""
    token = sign_in.sign_in(here.event.at, "Robin", PASSWORD)
    here.organiser.client.set_cookie(cookies.SIGN_IN, token)


def planned(event: Event) -> list[Tray]:
    """The six planned trays by number."""
    return [tray for tray in event.trays() if not tray.spare]


def token_in(page: Page) -> str:
    """The form token of any form on a page."""
    return next(form.values("csrf_token")[0] for form in page.forms if form.values("csrf_token"))


@contextmanager
def logged() -> Iterator[StringIO]:
    """What the program writes into the machine's log, at its most talkative."""
    kept = StringIO()
    handler = logging.StreamHandler(kept)
    ours = logging.getLogger("panel")
    level = ours.level
    logging.getLogger().addHandler(handler)
    ours.setLevel(logging.DEBUG)
    try:
        yield kept
    finally:
        logging.getLogger().removeHandler(handler)
        ours.setLevel(level)
