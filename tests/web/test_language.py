"""Every sentence of a page comes from the catalogue: shown in a language made of marks.

The made-up catalogue puts each sentence in brackets; what stands outside them was hard-coded, or
is a name, a code or a number.
"""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from flask import Flask

from panel import catalogue
from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.names import Reason, Role
from panel.services import open_sitting, sign_in
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, Clock, sealed, serving, token, trays
from tests.readings import waiting_reading
from tests.structure.checkout import ROOT
from tests.web.conftest import with_pass
from tests.web.guest import Guest, Page

NAMES = {
    "Two", "saisons", "Spring", "evening", "Back", "room", "The", "Harbour", "Guild", "barley",
    "gluten", "Cool", "tank", "Warm", "beer", "März",
}  # fmt: skip
"""Words that people of the invented evening wrote, and the date's."""
KEYWORDS = {"say": None, "say_n": (1, 2), "_": None, "gettext": None, "ngettext": (1, 2)}


def sentences() -> Iterator[tuple[str, ...]]:
    """Every sentence in the code and the pages; two of them where it has a plural."""
    methods = [("**.py", "python"), ("**.html", "jinja2")]
    for *_where, sentence, _comments, _context in extract_from_dir(
        ROOT / "panel", methods, keywords=KEYWORDS
    ):
        yield sentence if isinstance(sentence, tuple) else (sentence,)


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of catalogues in which German is English in brackets."""
    made = Catalog(locale="de")
    for pair in sentences():
        marks = tuple(f"⟦{one}⟧" for one in pair)
        made.add(pair if len(pair) > 1 else pair[0], marks if len(pair) > 1 else marks[0])
    folder = tmp_path_factory.mktemp("translations")
    words = folder / "de/LC_MESSAGES/messages.mo"
    words.parent.mkdir(parents=True)
    written = io.BytesIO()
    write_mo(written, made)
    words.write_bytes(written.getvalue())
    return folder


@pytest.fixture
def german(
    marked: Path, tmp_path: Path, sqlite_url: str, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Flask]:
    monkeypatch.setattr(catalogue, "FOLDER", marked)
    monkeypatch.setattr("panel.web.language.FOLDER", marked)
    catalogue.speaker.cache_clear()
    environment = {
        "PANEL_DATABASE_URL": sqlite_url,
        "PANEL_ADDRESS": "http://localhost",
        "PANEL_LANGUAGE": "de",
        "PANEL_GUILD": "The Harbour Guild",
    }
    folder = tmp_path / "instance"
    folder.mkdir()
    app = create_app(
        settings_room.load(environment, folder), now=Clock(), entropy=seeded_entropy("marks")
    )
    yield app
    close(app)
    catalogue.speaker.cache_clear()


def outside(page: Page) -> set[str]:
    """Words of a page that no catalogue gave it."""
    depth, bare = 0, []
    for character in page.text:
        depth += (character == "⟦") - (character == "⟧")
        bare.append(" " if depth or character == "⟧" else character)
    digits_gone = re.sub(r"\b[0-9a-f]{8}\b", "", "".join(bare))  # the seal's
    words = re.findall(r"[^\W\d_]{2,}", digits_gone)
    return {word for word in words if word not in NAMES}


def pages(app: Flask, at: Workplace) -> Iterator[Page]:
    """A page of every kind that is not the organiser's."""
    guest = Guest(app)
    set_up = sign_in.first_link(at)
    for path in ("/", "/sign-in", "/card", "/reach", "/nope", f"/set-up/{set_up}", "/in/x"):
        yield guest.get(path)
    known = serving(at, "duo-trio", language="de")
    tray, aside = trays(at, known)[:2]
    yield guest.get(f"/r/{known.slug}")
    page = guest.get(f"/{token(at, known, tray)}")
    yield page
    page = guest.send(page, button="on")
    yield page
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    page = guest.send(page, button="on", **{"answer-same": tray.codes()[1]})
    page = guest.send(page, button="on", **{"answer-sure": "guess"})
    yield page
    yield guest.send(page, button="send")
    open_sitting.set_aside(at, ORGANISER, known.id, aside.number, Reason.SPILLED)
    yield guest.get(f"/{token(at, known, aside)}")
    early = sealed(at, language="de")
    yield guest.get(f"/{token(at, early, trays(at, early)[0])}")
    steward = with_pass(app, at, known, Role.STEWARD)
    reading = waiting_reading(at, known, aside)
    for path in ("", "/trays", "/out", "/key", "/photos", "/review", f"/review/{reading}"):
        yield steward.get(f"/steward/{known.id}/{known.sittings[0].id}{path}")
    pourer = with_pass(app, at, known, Role.POURER)
    page = pourer.get(f"/pourer/{known.id}/{known.sittings[0].id}")
    yield page
    yield pourer.send(page, "/pourer/")


def test_no_sentence_stands_alone_here_and_with_a_plural_there() -> None:
    """A catalogue keeps one entry for both, and the sentence alone would not be found in it."""
    alone = {pair[0] for pair in sentences() if len(pair) == 1}
    plurals = dict.fromkeys(pair for pair in sentences() if len(pair) == 2)
    assert len(alone) > 1000
    assert len(plurals) > 50
    assert [pair for pair in plurals if alone & {*pair}] == []
    assert len({one for one, _many in plurals}) == len(plurals)


def test_every_sentence_comes_from_the_catalogue(german: Flask) -> None:
    seen = 0
    for page in pages(german, workplace_of(german)):
        assert 'lang="de"' in page.html
        assert "⟦" in page.text
        assert outside(page) == set(), page.path
        seen += 1
    assert seen > 18


def test_a_reader_gets_the_language_of_their_browser(german: Flask) -> None:
    client = german.test_client()
    for asked, expected in (("en-GB,en", "en"), ("de", "de"), ("fr", "de"), ("", "de")):
        page = Page(client.get("/", headers={"Accept-Language": asked}))
        assert f'lang="{expected}"' in page.html, asked


def test_the_word_for_the_drink_is_of_the_pages_language(app: Flask, organiser: Guest) -> None:
    for language, word in (("en", "beer"), ("de", "Bier")):
        page = organiser.get("/organise/new", **{"Accept-Language": language})
        assert page.form("/organise/new").values("drink") == [word]
