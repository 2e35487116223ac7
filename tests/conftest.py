"""What every test may ask for: a database on either engine, a real browser, and no network.

Nothing here builds comparisons or ballots; that is `tests/builders.py`. Fixtures of one room
live in that room's own `conftest.py`.
"""

import os
import shutil
import sys
import time
import uuid
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any, NoReturn

import hypothesis
import psycopg
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from sqlalchemy import URL, make_url

from panel.services import passwords
from panel.store.session import MAY_LOSE_BALLOTS
from tests.thrift import QUICK_PASSWORDS, share_templates

# Read when numpy is first imported: two threads that wait for each other take longer than one.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

# The same examples on every run: a red build stays red until somebody mends it. No deadline: a
# slow machine is no defect.
hypothesis.settings.register_profile("panel", derandomize=True, deadline=None, database=None)
hypothesis.settings.load_profile("panel")


# --- no network -------------------------------------------------------------------------------

LOOPBACK = ("127.", "::1", "localhost", "::ffff:127.")


class NetworkForbiddenError(RuntimeError):
    """A test tried to leave the machine. Not an OSError: code that shrugs at those must not."""


def refuse_network(event: str, arguments: tuple[Any, ...]) -> None:
    """Audit hook: sockets and look-ups may go to loopback addresses and Unix sockets only."""
    if event in ("socket.connect", "socket.sendto"):
        address = arguments[1]
        host = address[0] if isinstance(address, tuple) else None
    elif event == "socket.getaddrinfo":
        host = arguments[0]
    else:
        return
    name = host.decode() if isinstance(host, bytes) else host
    if name is not None and name != "" and not name.startswith(LOOPBACK):
        raise NetworkForbiddenError(f"tests stay on this machine; {event} wanted {name!r}")


def pytest_configure() -> None:
    """An audit hook sees every Python socket however it was made, and cannot be patched away."""
    sys.addaudithook(refuse_network)
    share_templates()


# --- what a machine may lack --------------------------------------------------------------------


def lacking(what: str, switch: str) -> NoReturn:
    """Skip with the reason, or fail where the switch (an environment variable) demands it."""
    if os.environ.get(switch) == "1":
        pytest.fail(f"{what}, and {switch}=1 demands it", pytrace=False)
    pytest.skip(what)


# --- thrift -------------------------------------------------------------------------------------


@pytest.fixture(autouse=True)
def quick_passwords(monkeypatch: pytest.MonkeyPatch) -> None:
    """The real cost of a password is paid where it is looked at: test_passwords goes without."""
    for name, quick in QUICK_PASSWORDS.items():
        monkeypatch.setattr(passwords, name, quick)


# --- databases ----------------------------------------------------------------------------------


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The URL of an empty database of the test's own, once on SQLite and once on PostgreSQL.

    Dispose of every engine before the test ends: an open connection is a ResourceWarning, and so
    a failure.
    """
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'panel.db'}"
    else:
        server = request.getfixturevalue("postgresql_server")
        yield from fresh_postgresql(server)


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    """An empty SQLite database, for what does not depend on the engine or is SQLite's alone."""
    return f"sqlite:///{tmp_path / 'panel.db'}"


DROPPED_WITHIN = 60.0  # seconds; a try that finds sessions waits five of its own


@pytest.fixture
def postgresql_url(postgresql_server: URL) -> Iterator[str]:
    """An empty PostgreSQL database, for what is PostgreSQL's alone (mark the test `postgresql`)."""
    yield from fresh_postgresql(postgresql_server)


@pytest.fixture(scope="session")
def postgresql_server() -> URL:
    """The server named by PANEL_TEST_POSTGRESQL, whose role may create databases."""
    named = os.environ.get("PANEL_TEST_POSTGRESQL")
    if not named:
        lacking("PANEL_TEST_POSTGRESQL names no PostgreSQL server", "PANEL_REQUIRE_POSTGRESQL")
    server = make_url(named)
    try:
        connect(server).close()
    except psycopg.OperationalError as refusal:
        reason = " ".join(str(refusal).split())
        lacking(f"PostgreSQL does not answer: {reason}", "PANEL_REQUIRE_POSTGRESQL")
    return server


def fresh_postgresql(server: URL) -> Iterator[str]:
    """Create a database, yield its URL, drop it whatever happened, open connections included."""
    name = f"panel_test_{uuid.uuid4().hex}"
    with connect(server) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE template0")
        # A server for tests may run without fsync. Said here, of this database alone.
        connection.execute(f"COMMENT ON DATABASE {name} IS '{MAY_LOSE_BALLOTS}'")
    try:
        yield server.set(database=name).render_as_string(hide_password=False)
    finally:
        with connect(server) as connection:
            drop(connection, name)


def drop(connection: "psycopg.Connection[tuple[Any, ...]]", name: str) -> None:
    """End our own sessions, then drop plainly: that sends a vacuum of the server's own away.

    WITH (FORCE) will not do: it fails where such a vacuum, which is the superuser's, runs.
    """
    until = time.monotonic() + DROPPED_WITHIN
    while True:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = %s AND usename = current_user",
            [name],
        )
        try:
            connection.execute(f"DROP DATABASE {name}")
            return
        except psycopg.errors.ObjectInUse:
            if time.monotonic() > until:
                raise


def connect(server: URL) -> "psycopg.Connection[tuple[Any, ...]]":
    """A connection that commits each statement, as CREATE DATABASE demands."""
    plain = server.set(drivername="postgresql").render_as_string(hide_password=False)
    return psycopg.connect(plain, autocommit=True, connect_timeout=10)


# --- a real browser -----------------------------------------------------------------------------

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM_FLAGS = (
    "--no-sandbox",  # root has no user namespace to drop into
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One headless Chromium for the whole run; each test opens a context of its own in it.

    While it is open Playwright keeps an event loop in this thread: asyncio.run() fails here.
    """
    program = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if program is None:
        lacking("no Chromium on this machine", "PANEL_REQUIRE_BROWSER")
    with ExitStack() as kept:
        try:
            playwright = kept.enter_context(sync_playwright())
        except Exception as broken:  # its driver needs libatomic1, which a bare Debian has not
            lacking(f"Playwright's driver does not start: {broken}", "PANEL_REQUIRE_BROWSER")
        opened = playwright.chromium.launch(executable_path=program, args=list(CHROMIUM_FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A clean profile the size of a phone in the hand: no cookies, no storage of other tests."""
    opened = browser.new_context(viewport={"width": 390, "height": 844}, locale="en-GB")
    opened.set_default_timeout(10_000)
    yield opened
    opened.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    """A blank page in a clean profile. Mark the test `browser`."""
    return context.new_page()
