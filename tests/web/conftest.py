"""A whole application on its own SQLite database, and people in front of it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.comparison import Comparison
from panel.core.names import Role
from panel.services import invite, sign_in
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, Clock
from tests.thrift import lay_schema
from tests.web.guest import Guest

PASSWORD = "heron lantern gravel spoon"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def app(tmp_path: Path, sqlite_url: str, clock: Clock) -> Iterator[Flask]:
    """The service as phones reach it: plain http on a local address."""
    folder = tmp_path / "instance"
    folder.mkdir()
    environment = {
        "PANEL_DATABASE_URL": sqlite_url,
        "PANEL_ADDRESS": "http://localhost",
        "PANEL_GUILD": "The Harbour Guild",
    }
    lay_schema(sqlite_url)
    made = create_app(
        settings_room.load(environment, folder), now=clock, entropy=seeded_entropy("web")
    )
    made.testing = False  # errors as people see them
    yield made
    close(made)


@pytest.fixture
def at(app: Flask) -> Workplace:
    return workplace_of(app)


@pytest.fixture
def guest(app: Flask) -> Guest:
    return Guest(app)


@pytest.fixture
def organiser(app: Flask, at: Workplace) -> Guest:
    """Somebody who has set the service up and is signed in."""
    guest = Guest(app)
    page = guest.get(f"/set-up/{sign_in.first_link(at)}")
    guest.send(page, "set-up", name="Robin", password=PASSWORD, password_again=PASSWORD)
    return guest


def with_pass(app: Flask, at: Workplace, known: Comparison, role: Role, place: int = 0) -> Guest:
    """Somebody who opened the link for a role in the first sitting, or in a later one."""
    guest = Guest(app)
    link = invite.invite(at, ORGANISER, known.id, known.sittings[place].id, role)
    guest.send(guest.get(f"/in/{link}"), "/in/")
    return guest
