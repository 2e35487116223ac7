"""Alive and ready, and log lines that name nobody."""

import io
import json
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import text

from panel.app import close, create_app, workplace_of
from panel.services import open_sitting
from panel.services.health import Lack, lacks
from panel.services.workplace import Workplace
from panel.settings import load
from panel.web import log_lines
from tests.builders import ORGANISER, serving, token, trays, workplace
from tests.web.guest import Guest


def test_a_service_that_works_says_so(guest: Guest) -> None:
    for path, words in (("/healthz", {"alive": True}), ("/readyz", {"ready": True, "missing": []})):
        answer = guest.client.get(path)
        assert (answer.status_code, answer.json) == (200, words)


def test_everything_is_there_on_either_database(database_url: str, tmp_path: Path) -> None:
    with workplace(database_url, tmp_path / "instance") as at:
        assert lacks(at) == ()
        with at.units.begin() as session:
            session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
        assert lacks(at) == (Lack.SCHEMA,)


def test_a_disk_without_room_is_not_ready(guest: Guest, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_given: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.TemporaryFile", full)
    answer = guest.client.get("/readyz")
    assert (answer.status_code, answer.json) == (503, {"ready": False, "missing": ["disk"]})
    assert guest.client.get("/healthz").status_code == 200


def test_a_damaged_database_is_not_ready(guest: Guest, at: Workplace, sqlite_url: str) -> None:
    at.units.close()
    Path(sqlite_url.removeprefix("sqlite:///")).write_bytes(b"no database " * 1000)
    answer = guest.client.get("/readyz")
    assert (answer.status_code, answer.json) == (503, {"ready": False, "missing": ["database"]})


@pytest.mark.postgresql
def test_a_database_that_takes_no_writes_is_not_ready(postgresql_url: str, tmp_path: Path) -> None:
    with workplace(postgresql_url, tmp_path / "instance") as at:
        with at.units.begin() as session:
            name = session.scalar(text("SELECT current_database()"))
            session.execute(text(f"ALTER DATABASE {name} SET default_transaction_read_only = on"))
        at.units.close()
        assert lacks(at) == (Lack.DATABASE,)


@pytest.mark.postgresql
def test_a_database_that_may_lose_ballots_says_so(
    postgresql_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.services.health.switched_off", lambda _session: ("fsync",))
    folder = tmp_path / "instance"
    folder.mkdir()
    environment = {"PANEL_DATABASE_URL": postgresql_url, "PANEL_ADDRESS": "http://localhost"}
    app = create_app(load(environment, folder))
    answer = Guest(app).client.get("/readyz").json
    close(app)
    assert answer == {
        "ready": True, "missing": [], "BALLOTS CAN BE LOST, switched off": ["fsync"]
    }  # fmt: skip


# --- log lines -----------------------------------------------------------------------------------


@pytest.fixture
def telling(
    tmp_path: Path, sqlite_url: str, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Flask, io.StringIO]]:
    """An application whose log is JSON, and what it has written."""
    ours = logging.getLogger("panel")
    before = (ours.handlers, ours.level, ours.propagate)
    told = io.StringIO()
    monkeypatch.setattr(log_lines.sys, "stderr", told)
    folder = tmp_path / "instance"
    folder.mkdir()
    environment = {
        "PANEL_DATABASE_URL": sqlite_url,
        "PANEL_ADDRESS": "http://localhost",
        "PANEL_LOG": "json",
    }
    app = create_app(load(environment, folder))
    yield app, told
    close(app)
    ours.handlers, ours.level, ours.propagate = before


def test_a_line_a_request_and_nobody_in_it(telling: tuple[Flask, io.StringIO]) -> None:
    app, told = telling
    at = workplace_of(app)
    known = serving(at)
    tray = trays(at, known)[0]
    open_sitting.name_taster(at, ORGANISER, known.id, tray.number, "Quillfeather")
    opened = token(at, known, tray)
    guest = Guest(app)
    guest.client.environ_base["REMOTE_ADDR"] = "203.0.113.9"
    page = guest.get(f"/{opened}")
    guest.get(f"/nowhere/Quillfeather\r\n{opened}")
    guest.post("/sign-in", [("name", "Quillfeather"), ("password", "secret words")])
    lines = [json.loads(line) for line in told.getvalue().splitlines()]
    assert len(lines) >= 4
    assert {line["event"] for line in lines} == {"request"}
    assert all(set(line) >= {"at", "method", "route", "status", "milliseconds"} for line in lines)
    assert "taster.ballot" in {line["route"] for line in lines}
    ref = page.path.rsplit("/")[-1]
    for word in (opened, ref, "Quillfeather", "203.0.113.9", "secret"):
        assert word.lower() not in told.getvalue().lower()


def test_a_failure_is_told_by_its_kind_and_place(telling: tuple[Flask, io.StringIO]) -> None:
    app, told = telling

    def fails(_at: Workplace) -> None:
        raise RuntimeError("Quillfeather did it")

    app.view_functions["public.front"] = lambda: fails(workplace_of(app))
    app.testing = False
    assert Guest(app).get("/").status == 500
    line = next(json.loads(one) for one in told.getvalue().splitlines() if "RuntimeError" in one)
    assert (line["level"], line["error"]) == ("error", "RuntimeError")
    assert "test_health.fails" in line["places"][-1]
    assert "Quillfeather" not in told.getvalue()
