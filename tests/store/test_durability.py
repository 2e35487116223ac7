"""Cautions about a database that could lose what it acknowledged."""

import psycopg
import pytest
from sqlalchemy import make_url, text

from panel.core.errors import Fault, PanelError
from panel.settings import load
from panel.store.durability import _of_sqlite, cautions, switched_off
from panel.store.session import DURABLE, Units, make_engine
from tests.conftest import connect


@pytest.mark.parametrize(
    ("version", "spoken"),
    [((3, 40, 1), True), ((3, 51, 2), True), ((3, 51, 3), False), ((3, 53, 2), False)],
)
def test_an_old_sqlite_is_spoken_of(version, spoken):
    assert bool(_of_sqlite(version)) is spoken


def test_the_running_sqlite_is_asked(sqlite_units):
    with sqlite_units.read() as session:
        running = session.scalar(text("SELECT sqlite_version()"))
        told = cautions(session)
    newer = tuple(int(part) for part in running.split(".")) >= (3, 51, 3)
    assert (told == ()) is newer
    assert newer or running in str(told[0])


@pytest.fixture
def server_says(monkeypatch):
    """Lets the server say of a setting what it is told to, whatever it really does."""

    def says(name, word):
        really = psycopg.Connection.execute

        def execute(self, query, *rest, **named):
            answer = f"SELECT '{word}'" if query == f"SHOW {name}" else query
            return really(self, answer, *rest, **named)

        monkeypatch.setattr(psycopg.Connection, "execute", execute)

    return says


def unmarked(url):
    """The same database without the mark that the suite's databases carry."""
    with connect(make_url(url)) as connection:
        connection.execute(f"COMMENT ON DATABASE {make_url(url).database} IS NULL")


@pytest.mark.postgresql
@pytest.mark.parametrize("name", DURABLE)
def test_a_server_that_writes_later_is_refused(postgresql_url, server_says, name):
    unmarked(postgresql_url)
    for one in DURABLE:
        server_says(one, "off" if one == name else "on")
    units = Units(make_engine(postgresql_url))
    with pytest.raises(PanelError) as refusal, units.read() as session:
        session.scalar(text("SELECT 1"))
    units.close()
    assert (refusal.value.code, refusal.value.fault) == ("database-not-durable", Fault.PLACE)
    assert f"with {name} switched off" in str(refusal.value.message)


@pytest.mark.postgresql
def test_a_server_that_keeps_what_it_confirms_is_taken(postgresql_url, server_says):
    unmarked(postgresql_url)
    for name in DURABLE:
        server_says(name, "on")
    units = Units(make_engine(postgresql_url))
    with units.begin() as session:
        assert session.scalar(text("SELECT 1")) == 1
    units.close()


@pytest.mark.postgresql
def test_nothing_but_the_databases_own_mark_lets_it_pass(postgresql_url, server_says, tmp_path):
    server_says("fsync", "off")
    for variable in ("PANEL_MAY_LOSE_BALLOTS", "PANEL_FOR_TESTS"):
        with pytest.raises(PanelError):
            load({"PANEL_DATABASE_URL": postgresql_url, variable: "yes"}, tmp_path)
    units = Units(make_engine(postgresql_url))
    with units.read() as session:
        assert session.scalar(text("SELECT 1")) == 1
    units.close()
    unmarked(postgresql_url)
    with pytest.raises(PanelError), units.read() as session:
        session.scalar(text("SELECT 1"))
    units.close()


@pytest.mark.postgresql
def test_a_database_for_tests_is_spoken_of(postgresql_url):
    units = Units(make_engine(postgresql_url))
    with units.read() as session:
        off = [name for name in DURABLE if session.scalar(text(f"SHOW {name}")) == "off"]
        told = cautions(session)
        assert list(switched_off(session)) == off
    units.close()
    assert (told == ()) is (off == [])
    assert all("WILL be lost" in str(one) for one in told)
    assert all(name in str(told[0]) for name in off)


@pytest.mark.postgresql
def test_a_commit_waits_for_the_disk_whatever_the_server_usually_does(postgresql_url):
    """Set on every connection and read back: a server's own default does not matter."""
    name = make_url(postgresql_url).database
    with connect(make_url(postgresql_url)) as connection:
        connection.execute(f"ALTER DATABASE {name} SET synchronous_commit = off")
    units = Units(make_engine(postgresql_url))
    with units.begin() as session:
        assert session.scalar(text("SHOW synchronous_commit")) == "on"
    units.close()
