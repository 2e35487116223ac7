"""A record that somebody changed is found at every start, said, and stops nobody."""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from flask import Flask

from panel import app as room
from panel import settings as settings_room
from panel.cli import host
from panel.core.record import INSTANCE
from panel.services.reach import nowhere
from panel.services.seeded import seeded_entropy
from panel.services.whole_records import BrokenChain, broken_chains
from panel.services.workplace import Workplace
from tests.builders import Clock, sealed, workplace


@pytest.fixture
def at(tmp_path: Path) -> Iterator[Workplace]:
    with workplace(f"sqlite:///{tmp_path / 'panel.db'}", tmp_path / "instance") as place:
        yield place


def change(database: Path, chain: str, line: int) -> None:
    """What somebody with a tool for databases does; the triggers that forbid it go first."""
    connection = sqlite3.connect(database)
    with connection:
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'record'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        found = connection.execute(
            "UPDATE record SET at = '2020-01-01T00:00:00.000000+00:00' "
            "WHERE chain = ? AND sequence = ?",
            (chain, line),
        )
        assert found.rowcount == 1
    connection.close()


def test_a_whole_record_is_whole(at: Workplace) -> None:
    sealed(at)
    assert broken_chains(at) == ()


def test_every_broken_chain_is_named_with_its_line(at: Workplace, tmp_path: Path) -> None:
    one, _ = sealed(at), sealed(at)
    change(tmp_path / "panel.db", one.id, 2)
    (broken,) = broken_chains(at)
    assert broken == BrokenChain(one.id, one.title, 2)
    assert f"“{one.title}” is not as it was written, from line 2 on" in str(broken.sentence())
    own = BrokenChain(INSTANCE, "", 1)
    assert "The record of this installation" in str(own.sentence())


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Flask]:
    """An application on a database whose record was changed while it was not running."""
    url = f"sqlite:///{tmp_path / 'panel.db'}"
    with workplace(url, tmp_path / "instance") as at:
        change(tmp_path / "panel.db", sealed(at).id, 1)
    environment = {"PANEL_DATABASE_URL": url, "PANEL_ADDRESS": "http://localhost"}
    made = room.create_app(
        settings_room.load(environment, tmp_path / "instance"),
        now=Clock(),
        entropy=seeded_entropy("other"),
    )
    yield made
    room.close(made)


def test_the_service_starts_and_says_it(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(host, "serve_app", lambda _app, _settings, ready: ready(8000))
    monkeypatch.setattr(host, "close", lambda _app: None)
    settings = room.workplace_of(app).settings
    with CliRunner().isolation() as (output, *_):
        host.run(app, settings, nowhere)
        said = output.getvalue().decode()
    assert "Mind: The record of “Does a warm fermentation show?” is not as it was written" in said
    assert said.index("Mind:") < said.index("Panel is ready")
