"""Disk full, file read-only or damaged, connection cut: a sentence, 503, nothing half-written."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import event, text

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.comparison import Comparison, Tray
from panel.core.errors import Fault, PanelError
from panel.services.workplace import Workplace, open_workplace
from panel.store import ballots, records
from panel.store.plain_rows import rows_of
from tests.builders import answers, serving, token, trays
from tests.web.guest import Guest, Page

SENTENCE = "cannot be reached or written just now, and nothing was saved"
DAMAGED = "file is damaged, and nothing was saved"


@contextmanager
def application(database_url: str, folder: Path) -> Iterator[Flask]:
    folder.mkdir()
    environment = {"PANEL_DATABASE_URL": database_url, "PANEL_ADDRESS": "http://localhost"}
    made = create_app(settings_room.load(environment, folder))
    try:
        yield made
    finally:
        close(made)


@pytest.fixture
def app(sqlite_url: str, tmp_path: Path) -> Iterator[Flask]:
    with application(sqlite_url, tmp_path / "instance") as made:
        yield made


@pytest.fixture
def at(app: Flask) -> Workplace:
    return workplace_of(app)


@pytest.fixture
def known(at: Workplace) -> Comparison:
    return serving(at)


def opened(app: Flask, at: Workplace, known: Comparison, tray: Tray) -> tuple[Guest, Page]:
    """A phone with the empty ballot of a tray."""
    guest = Guest(app)
    return guest, guest.get(f"/{token(at, known, tray)}")


def send(guest: Guest, page: Page, known: Comparison, tray: Tray, words: str) -> Page:
    form = page.form("/t/")
    fields = [pair for pair in form.fields if pair[0] in ("csrf_token", "key")]
    given = {**answers(known, tray), "words": (words,)}
    fields += [(f"answer-{name}", word) for name, many in given.items() for word in many]
    return guest.post(f"{form.action.partition('?')[0]}/send", fields)


def rows(at: Workplace) -> list[object]:
    with at.units.read() as session:
        assert [records.verify(session, chain) for chain in records.chains(session)] == [None]
        return list(rows_of(session.connection()))


def kept(at: Workplace, known: Comparison) -> int:
    with at.units.read() as session:
        return len(ballots.every_revision(session, known.id))


def test_a_full_disk(app: Flask, at: Workplace, known: Comparison) -> None:
    """SQLite's own limit of pages stands in for the disk's end: the same error, and no root."""
    tray = trays(at, known)[0]
    guest, page = opened(app, at, known, tray)
    limits: list[int] = []
    at.units.close()
    packed = sqlite3.connect(at.units.engine.url.database or "")
    packed.execute("VACUUM")  # no page is free any more
    packed.close()

    def full(connection: object, *_rest: object) -> None:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        limits.append(pages)
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")

    event.listen(at.units.engine, "begin", full)
    before, told = rows(at), None
    for turn in range(25):  # what is free inside the pages is used up first
        held = rows(at)
        told = send(guest, page, known, tray, f"{turn} " + "hops " * 78)
        if told.status != 200:
            break
        guest, page = opened(app, at, known, tray)
        page = guest.get(f"{page.path.removesuffix('/receipt')}/change")
    assert told is not None
    assert (told.status, SENTENCE in told.text) == (503, True)
    assert "hops hops" in told.html  # what was typed is in the page, to be sent again
    assert rows(at) == held
    assert limits
    event.remove(at.units.engine, "begin", full)
    at.units.close()  # the limit lives in the connection
    assert send(guest, page, known, tray, "hops " * 79).status == 200
    assert rows(at) != before


def test_a_database_that_cannot_be_written(app: Flask, at: Workplace, known: Comparison) -> None:
    tray = trays(at, known)[0]
    guest, page = opened(app, at, known, tray)

    def read_only(connection: object, *_rest: object) -> None:
        connection.exec_driver_sql("PRAGMA query_only = ON")

    event.listen(at.units.engine, "begin", read_only)
    told = send(guest, page, known, tray, "malt")
    assert (told.status, SENTENCE in told.text) == (503, True)
    event.remove(at.units.engine, "begin", read_only)
    assert kept(at, known) == 0
    assert send(guest, page, known, tray, "malt").status == 200
    assert kept(at, known) == 1


def test_a_damaged_file_while_serving(app: Flask, at: Workplace, known: Comparison) -> None:
    tray = trays(at, known)[0]
    guest, page = opened(app, at, known, tray)
    path = Path(at.units.engine.url.database or "")
    at.units.close()
    shutil.copy(path, path.with_suffix(".whole"))
    path.write_bytes(b"\xff" * path.stat().st_size)
    told = send(guest, page, known, tray, "malt")
    assert (told.status, DAMAGED in told.text) == (503, True)
    assert "sqlite" not in told.html.lower()
    at.units.close()
    path.with_suffix(".whole").replace(path)
    assert send(guest, page, known, tray, "malt").status == 200
    assert kept(at, known) == 1


@pytest.mark.parametrize("content", [b"no database " * 500, b"SQLite format 3\0" + b"\1" * 4_000])
def test_a_damaged_file_at_the_start(tmp_path: Path, content: bytes) -> None:
    folder = tmp_path / "instance"
    folder.mkdir()
    (folder / "panel.db").write_bytes(content)
    with pytest.raises(PanelError) as refusal:
        open_workplace(settings_room.load({}, folder))
    assert refusal.value.fault is Fault.PLACE
    assert DAMAGED in str(refusal.value.message)
    assert "panel restore" in str(refusal.value.message)
    assert (folder / "panel.db").read_bytes() == content


@pytest.mark.postgresql
def test_a_connection_that_is_killed_in_the_middle_of_a_ballot(
    postgresql_url: str, tmp_path: Path
) -> None:
    with application(postgresql_url, tmp_path / "instance") as app:
        at = workplace_of(app)
        known = serving(at)
        tray = trays(at, known)[0]
        guest, page = opened(app, at, known, tray)
        killed: list[int] = []

        def cut(connection: object, _cursor: object, statement: str, *_rest: object) -> None:
            """When the ballot's rows are written and its line in the record is not."""
            if statement.startswith("INSERT INTO record") and not killed:
                killed.append(connection.exec_driver_sql("SELECT pg_backend_pid()").scalar())
                end_backend(at, killed[0])

        event.listen(at.units.engine, "before_cursor_execute", cut)
        told = send(guest, page, known, tray, "malt")
        event.remove(at.units.engine, "before_cursor_execute", cut)
        assert killed
        assert (told.status, SENTENCE in told.text) == (503, True)
        assert kept(at, known) == 0
        assert send(guest, page, known, tray, "malt").status == 200
        assert kept(at, known) == 1
        rows(at)


def end_backend(at: Workplace, process: int) -> None:
    """As a server that is stopped ends a connection; only one of this test's own."""
    autocommit = at.units.engine.execution_options(isolation_level="AUTOCOMMIT")
    with autocommit.connect() as other:
        other.execute(text("SELECT pg_terminate_backend(:process)"), {"process": process})


def test_the_limit_of_pages_is_the_disks_error() -> None:
    """SQLite documents SQLITE_FULL for both: the stand-in tells the program the same."""
    connection = sqlite3.connect(":memory:")
    connection.execute("PRAGMA max_page_count = 2")
    connection.execute("CREATE TABLE a (b)")
    with pytest.raises(sqlite3.OperationalError) as full:
        connection.execute("INSERT INTO a VALUES (randomblob(100000))")
    assert full.value.sqlite_errorname == "SQLITE_FULL"
    connection.close()
