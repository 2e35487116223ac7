"""Cards that no phone could follow are spoken of before they are printed."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.cli import host
from panel.services import sign_in
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from tests.builders import Clock, sealed
from tests.web.conftest import PASSWORD
from tests.web.guest import Guest

ROOM = "http://192.168.1.20:8000"


@pytest.fixture
def made(
    tmp_path: Path, sqlite_url: str, request: pytest.FixtureRequest
) -> Iterator[tuple[Flask, Guest]]:
    """An application at an address, or at its usual one, and its organiser."""
    address: str = request.param
    environment = {"PANEL_DATABASE_URL": sqlite_url, "PANEL_HOST": "0.0.0.0"}
    if address:
        environment["PANEL_ADDRESS"] = address
    settings = settings_room.load(environment, tmp_path)
    app = create_app(
        settings,
        now=Clock(),
        entropy=seeded_entropy("reach"),
        addresses=lambda: ("10.1.2.3", "192.168.1.20"),
    )
    guest = Guest(app)
    page = guest.get(f"/set-up/{sign_in.first_link(workplace_of(app))}")
    guest.send(page, "set-up", name="Robin", password=PASSWORD, password_again=PASSWORD)
    yield app, guest
    close(app)


@pytest.mark.parametrize("made", [""], indirect=True)
def test_kit_links_and_evening_say_that_no_phone_gets_there(made: tuple[Flask, Guest]) -> None:
    app, guest = made
    known = sealed(workplace_of(app))
    links = f"/organise/{known.id}/sittings/{known.sittings[0].id}/links"
    for path in (f"/organise/{known.id}/print", links, f"/organise/{known.id}"):
        page = guest.get(path)
        assert "which no phone can reach" in page.text, path
        assert "--address http://10.1.2.3:8000" in page.text
    kit = guest.get(f"/organise/{known.id}/print").html
    assert kit.index("which no phone can reach") < kit.index('class="kit"')


@pytest.mark.parametrize("made", [ROOM], indirect=True)
def test_links_and_evening_offer_the_address_to_try(made: tuple[Flask, Guest]) -> None:
    app, guest = made
    known = sealed(workplace_of(app))
    links = f"/organise/{known.id}/sittings/{known.sittings[0].id}/links"
    for path in (links, f"/organise/{known.id}"):
        page = guest.get(path)
        assert "Can a phone reach this laptop?" in page.text
        assert f"{ROOM}/reach" in page.text
        assert 'class="link-code"' in page.html
    assert "no phone" not in guest.get(f"/organise/{known.id}/print").text
    assert "This phone reaches us." in Guest(app).get("/reach").text


@pytest.mark.parametrize(
    ("made", "said"),
    [("", "--address http://10.1.2.3:8000"), (ROOM, f"Phones reach it at {ROOM}")],
    indirect=["made"],
)
def test_the_command_says_it_at_its_start(
    made: tuple[Flask, Guest],
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    app, _ = made
    at: Workplace = workplace_of(app)
    monkeypatch.setattr(host, "serve_app", lambda _app, _settings, ready: ready(8000))
    monkeypatch.setattr(host, "close", lambda _app: None)
    host.run(app, at.settings, lambda: ("10.1.2.3", "192.168.1.20"))
    assert said in capsys.readouterr().out
