"""An evening before its storm: a sitting that is being served, and everybody who will send."""

import hashlib
import hmac
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image

from panel import settings as settings_room
from panel.core.comparison import Comparison, Tray
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.payload import ref_of
from panel.services import print_kit, sign_in
from panel.services.print_kit import Paperwork
from panel.services.workplace import Workplace, cookie_key, open_workplace
from panel.store import trays as trays_store
from tests.builders import ORGANISER, serving, trays
from tests.faults.phones import Camera, Laptop, Phone, Picture, Sender
from tests.services.test_read_cards import DPI, filled

NAME, PASSPHRASE = "Robin", "heron lantern spoon"
CARD = CARD_FORMATS["a6"]
MEANT = ((1, 2, 3, 1), (3, 1, 2, 2))
"""The cups that are marked on the four cards of a sheet, in its first picture and in its second."""


@dataclass(frozen=True)
class Cast:
    """How many phones, each with a tray of its own; laptops that key, with some cards each;
    photographed sheets of four cards, each in two pictures that say different things."""

    phones: int = 6
    laptops: int = 1
    keyed: int = 6
    sheets: int = 2


@dataclass(frozen=True)
class Doors:
    """An installation whose doors are open: good for any number of evenings that start alike."""

    known: Comparison
    phones: tuple[tuple[Tray, str, str], ...]
    keyed: tuple[tuple[Tray, ...], ...]
    pictures: tuple[Picture, ...]

    @property
    def scanned(self) -> frozenset[int]:
        """Numbers of the trays whose cards are photographed."""
        return frozenset(number for one in self.pictures for number in one.cards)

    def senders(self, seed: str, cookie: str) -> list[Sender]:
        """Fresh ones, with empty ledgers."""
        cast: list[Sender] = [
            Phone(self.known, (tray,), f"{seed}, phone {tray.number}", ref, proof)
            for tray, ref, proof in self.phones
        ]
        laptops: list[Laptop] = [
            Laptop(self.known, mine, f"{seed}, laptop {place}")
            for place, mine in enumerate(self.keyed)
        ]
        if self.pictures:
            some = self.phones[0][0]
            laptops.append(Camera(self.known, (some,), f"{seed}, camera", self.pictures))
        for one in laptops:
            one.cookie = cookie
        return [*cast, *laptops]


def doors_open(folder: Path, cast: Cast, url: str = "") -> Doors:
    """Plans, seals and opens a sitting in an empty instance folder; one organiser can sign in."""
    with_url = {"PANEL_DATABASE_URL": url} if url else {}
    at = open_workplace(settings_room.load(with_url, folder))
    try:
        known = serving(at, planned=cast.phones + cast.laptops * cast.keyed + 5 * cast.sheets)
        sign_in.set_up(at, sign_in.set_up_link(at), NAME, PASSPHRASE)
        pictures = _pictures(at, known, cast.sheets) if cast.sheets else ()
        scanned = {number for one in pictures for number in one.cards}
        free = [one for one in trays(at, known) if not one.spare and one.number not in scanned]
        refs, key = _refs(at, known), cookie_key(at)
        phones = free[: cast.phones]
        rest = free[cast.phones : cast.phones + cast.laptops * cast.keyed]
        return Doors(
            known,
            tuple((one, refs[one.number], _proof(key, refs[one.number])) for one in phones),
            tuple(tuple(rest[place :: cast.laptops]) for place in range(cast.laptops)),
            tuple(pictures),
        )
    finally:
        at.units.close()


def signed_in(at: Workplace) -> str:
    """The cookie of an organiser who signs in now."""
    return sign_in.sign_in(at, NAME, PASSPHRASE)


def _refs(at: Workplace, known: Comparison) -> dict[int, str]:
    with at.units.read() as session:
        return trays_store.refs(session, known.id)


def _proof(key: bytes, ref: str) -> str:
    """What the cookie says once a card was opened."""
    return hmac.new(key, f"tray {ref}".encode(), hashlib.sha256).hexdigest()


def _pictures(at: Workplace, known: Comparison, sheets: int) -> list[Picture]:
    """The first sheets of the printed cards, marked by hand in two ways and photographed."""
    paper = Paperwork(card="a6")
    sitting = known.sittings[0].id
    printed = print_kit.sheet(at, ORGANISER, known.id, sitting, "ballot-cards", paper)
    numbers = {ref: number for number, ref in _refs(at, known).items()}
    by_number = {one.number: one for one in trays(at, known)}
    made = []
    document = pypdfium2.PdfDocument(printed.pdf)
    for place in range(sheets):
        blank = document[place].render(scale=DPI / 72, grayscale=True).to_pil().convert("L")
        cells = [by_number[numbers[ref_of(token)]] for token in _tokens(blank)]
        made += [_marked(blank, known, cells, meant) for meant in MEANT]
    document.close()
    return made


def _tokens(sheet: Image.Image) -> list[str]:
    """The codes of a sheet, in the order of its cells."""
    found = zxingcpp.read_barcodes(sheet)
    half = sheet.height / 2
    found.sort(key=lambda one: (one.position.top_left.y > half, one.position.top_left.x))
    assert len(found) == CARD.sheet.count
    return [one.text.rpartition("/")[2] for one in found]


def _marked(
    blank: Image.Image, known: Comparison, cells: Sequence[Tray], meant: Sequence[int]
) -> Picture:
    sheet = blank.copy()
    cards = {}
    for cell, (tray, cup) in enumerate(zip(cells, meant, strict=True)):
        filled(sheet, known, CARD, cell, {("knew", "nothing"), ("odd", cup), ("sure", "guess")})
        picked = tray.codes()[cup - 1]
        cards[tray.number] = {"knew": ("nothing",), "odd": (picked,), "sure": ("guess",)}
    data = _photographed(sheet)
    return Picture(data, hashlib.sha256(data).hexdigest(), cards)


def _photographed(sheet: Image.Image) -> bytes:
    """With the grain of a camera, always the same, as a file that a phone would send."""
    grain = np.random.default_rng(1).normal(0, 3, (sheet.height, sheet.width))
    grey = np.clip(np.asarray(sheet, dtype=float) + grain, 0, 255).astype(np.uint8)
    out = BytesIO()
    Image.fromarray(grey).save(out, "JPEG", quality=60)
    return out.getvalue()
