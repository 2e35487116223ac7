"""Ways out that need a look of their own: codes on cards, other people's servers, pictures, chance,
an organiser who tastes, and whatever can be packed so that it is not seen at once."""

import base64
import inspect
import re
import zlib
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from panel.app import create_app
from panel.core.drawing import Drawing, Ink, Text
from panel.core.names import Blinding
from panel.printing.canvas import write_pdf
from panel.services import print_kit
from panel.services.workplace import new_token, open_workplace
from tests.blinding.artefacts import Album, Artefact, Changed, Reader, Stage, differences, is_blind
from tests.blinding.company import SHEETS, Walk, arrive, sign_organiser_in, token_in
from tests.blinding.event import ADDRESS, SECRETS, Event, Facts, evening, steady
from tests.blinding.reading import everything_in
from tests.builders import ORGANISER
from tests.services.test_read_cards import sheet_of
from tests.web.guest import ORIGIN

Albums = Callable[..., Album]
USUAL = Facts()
ANEW = replace(USUAL, dealt_anew=True)


# --- codes on cards ------------------------------------------------------------------------------


def test_a_cards_code_holds_an_address_and_a_token_in_one_size() -> None:
    """Read off the printed page by another program than wrote it: nothing but the address and 16
    letters of base 32 that follow from no order, and every code of the kit of one version."""
    with steady(), evening(USUAL) as event:
        event.seal()
        made = print_kit.sheet(event.at, ORGANISER, event.id, event.sitting, "ballot-cards")
        tokens = {event.tokens(tray).token for tray in event.trays()}
    document = pypdfium2.PdfDocument(made.pdf)
    try:
        pictures = [page.render(scale=200 / 72).to_pil().convert("L") for page in document]
    finally:
        document.close()
    codes = [code for picture in pictures for code in zxingcpp.read_barcodes(picture)]
    assert len(codes) == 8  # six planned and two spare trays
    for code in codes:
        address, _, token = code.text.rpartition("/")
        assert address == ADDRESS.upper()
        assert re.fullmatch("[A-Z2-7]{16}", token)
        assert token in tokens
    sizes = {(code.position.top_right.x - code.position.top_left.x) // 4 for code in codes}
    assert len(sizes) == 1


# --- other people's servers ----------------------------------------------------------------------


def test_no_page_asks_anybody_else_for_anything(album: Albums) -> None:
    """No picture, style, script or form of another place could tell it who looks at what."""
    asked = set()
    for one in album(USUAL).kept.values():
        page = one.body.decode("utf-8", "ignore") if not one.is_sheet else ""
        asked |= set(re.findall(r"(?:src|href|action|srcset)=[\"']((?:\w+:)?//[^\"']+)", page))
        asked |= set(re.findall(r"url\(['\"]?((?:\w+:)?//[^)]+)", page))
    assert {address for address in asked if not address.startswith(ADDRESS)} == set()


# --- pictures ------------------------------------------------------------------------------------


def test_a_photograph_gives_back_nothing_but_the_cards_own_picture() -> None:
    """Neither its name nor what a camera wrote into it comes back, and the crop that is shown for
    an empty card is pixels alone: the same whatever the order."""
    pages = []
    for facts in (USUAL, ANEW):
        with steady(), evening(facts) as event:
            event.seal()
            event.open()
            pages.append(photographed(event))
    assert pages[0] == pages[1]
    assert "copper" not in pages[0].lower()
    crops = re.findall("data:image/jpeg;base64,([^\"']+)", pages[0])
    assert crops
    for crop in crops:
        # JFIF, tables, one frame of 8 bits a point (DCT, baseline), the scan: no Exif, no words.
        assert set(segments(base64.b64decode(crop))) <= {0xE0, 0xDB, 0xC0, 0xC4, 0xDA}


def photographed(event: Event) -> str:
    """The steward's pages after a picture with secrets in its name and its metadata: the list of
    cards, and the review of each that is not clear."""
    walk = arrive(event, whole=False)
    path = f"{walk.steward_at}/photos"
    token = token_in(walk.steward.get(path))
    out = BytesIO()
    exif = Image.Exif()
    exif[270] = "the copper one"  # what it shows, in the words of the Exif standard
    picture = sheet_of(event.at, event.id, event.sitting)
    picture.resize((picture.width // 2, picture.height // 2)).save(out, "JPEG", exif=exif)
    answer = walk.steward.client.post(
        path,
        data={"csrf_token": token, "pictures": (BytesIO(out.getvalue()), "copper.jpg")},
        content_type="multipart/form-data",
        headers={"Origin": ORIGIN},
    )
    assert answer.status_code == 200
    listed = str(answer.get_data(as_text=True))
    reviews = sorted(set(re.findall(r'href="(/steward/[^"]*/review/[^"]+)"', listed)))
    shown = [walk.steward.client.get(path) for path in reviews]
    assert {page.status_code for page in shown} <= {200}
    return listed + "".join(page.get_data(as_text=True) for page in shown)


def segments(jpeg: bytes) -> list[int]:
    """Markers of a JPEG's segments up to its scan (ITU-T T.81, B.1.1: FF, marker, length, data)."""
    place, markers = 2, []
    while not markers or markers[-1] != 0xDA:
        assert jpeg[place] == 0xFF
        markers.append(jpeg[place + 1])
        place += 2 + int.from_bytes(jpeg[place + 2 : place + 4], "big")
    return markers


# --- chance --------------------------------------------------------------------------------------


def test_chance_is_the_machines_own_where_nobody_gives_another() -> None:
    """A seed is an argument of tests and of the invented evening; no setting can bring one in."""
    assert inspect.signature(create_app).parameters["entropy"].default is None
    assert inspect.signature(open_workplace).parameters["entropy"].default.__module__ == "secrets"


def test_two_evenings_of_the_same_facts_are_never_drawn_alike() -> None:
    drawn = set()
    for seed in ("one", "two"):
        with steady(), evening(USUAL) as event:
            event.chance.begin(seed)
            event.seal()
            drawn.add(tuple(tray.codes() for tray in event.trays()))
            drawn.add(tuple(event.key().values()))
            drawn.add((new_token(event.at),))
    assert len(drawn) == 6


# --- an organiser who tastes ---------------------------------------------------------------------


def pouring(facts: Facts) -> Album:
    """An organiser asks for everything that shows which cup is which."""
    with steady(), evening(facts) as event:
        event.seal()
        event.open()
        walk = arrive(event, whole=True)
        walk.album.stage = Stage.SERVING
        sign_organiser_in(walk)
        ask_for_the_key(walk)
        return walk.album


def ask_for_the_key(walk: Walk) -> None:
    event, organiser = walk.event, walk.organiser
    field = ("csrf_token", token_in(organiser.get(f"/organise/{event.id}")))
    screen = f"/pourer/{event.id}/{event.sitting}"
    organiser.post(screen, [field, ("wave", "1")])
    for name in SHEETS:
        for root in (screen, f"/organise/{event.id}/print/{event.sitting}"):
            organiser.post(f"{root}/{name}.pdf", [field])


def test_an_organiser_who_tastes_gets_nothing_that_shows_the_key() -> None:
    tasting = replace(USUAL, organiser_tastes=True)
    one, other = pouring(tasting), pouring(replace(tasting, dealt_anew=True))
    assert differences(one.kept, other.kept, bool) == []
    refused = [each for each in one.of(Reader.ORGANISER) if "POST" in each.name]
    assert len(refused) > 20
    assert {each.head[0][:3] for each in refused if "mat" in each.name} == {"403"}
    assert not any(each.is_sheet and "key" in each.name for each in refused)


def test_one_who_does_not_taste_may_pour() -> None:
    """The same look sees the difference, so that it is known to be one."""
    found = differences(pouring(USUAL).kept, pouring(ANEW).kept, bool)
    assert any("pourer.mat" in line for line in found)
    assert any("pourer.sheet" in line for line in found)


# --- what is packed ------------------------------------------------------------------------------


def sheet_with(**facts: object) -> bytes:
    """A sheet that says nothing to see of what it holds."""
    shapes = (Text(x=20, y=20, text="Cup labels", size=12), *facts.pop("hidden", ()))  # type: ignore[misc]
    page = Drawing(width=210, height=297, shapes=shapes)
    return write_pdf([page], title=str(facts.get("title", "Cup labels")), speak=str)


def cookie(words: bytes, mark: str = "") -> str:
    """A cookie as the framework signs it: words in base 64, a point and the signature."""
    return f"Set-Cookie: panel={mark}{base64.urlsafe_b64encode(words).decode()}.c2ln; Path=/"


WORD = SECRETS[0]
STATE = b'{"beer":"%s"}' % WORD.encode()
HIDDEN: dict[str, tuple[str, bytes]] = {
    "a comment": ("", f"<p>Two ales</p><!-- {WORD} -->".encode()),
    "an attribute": ("", f'<i data-set="{WORD}"></i>'.encode()),
    "marks for letters": ("", "".join(f"&#{ord(letter)};" for letter in WORD).encode()),
    "an address": ("", "".join(f"%{ord(letter):02x}" for letter in WORD).encode()),
    "a header": (f"X-Batch: {WORD}", b""),
    "a signed cookie": (cookie(STATE), b""),
    "a packed cookie": (cookie(zlib.compress(STATE), mark="."), b""),
    "a file's name": (f"{WORD}-labels.pdf", b""),
    "a sheet's title": ("", sheet_with(title=WORD)),
    "white text": (
        "",
        sheet_with(hidden=(Text(x=20, y=40, text=WORD, size=6, ink=Ink.PAPER),)),
    ),
    "a comment in a sheet's file": ("", sheet_with() + f"% {WORD}\n".encode()),
}


@pytest.mark.parametrize("way", HIDDEN)
def test_a_word_is_found_however_it_is_hidden(way: str) -> None:
    head, body = HIDDEN[way]
    one = Artefact(Reader.TASTER, Stage.SERVING, "001 GET somewhere", (head,), body)
    assert WORD in everything_in(one).lower()
    without = replace(one, head=(), body=sheet_with())
    assert WORD not in everything_in(without).lower()


def test_readers_who_may_know_are_not_called_blind() -> None:
    """A taster is blind to every change; whoever keeps the key to none."""
    for changed in Changed:
        blind = [
            reader
            for reader in Reader
            if is_blind(Artefact(reader, Stage.SERVING, "", (), b"%PDF-"), Blinding.DOUBLE, changed)
        ]
        assert Reader.TASTER in blind
        assert Reader.KEY_HOLDER not in blind
