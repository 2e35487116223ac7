"""Cautions about a database that could lose what it acknowledged."""

import pytest
from sqlalchemy import text

from panel.store.durability import _of_sqlite, cautions
from panel.store.session import Units, make_engine


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


@pytest.mark.postgresql
def test_a_server_that_writes_later_is_spoken_of(postgresql_url):
    units = Units(make_engine(postgresql_url))
    with units.read() as session:
        off = [
            name
            for name in ("fsync", "full_page_writes")
            if session.scalar(text(f"SHOW {name}")) == "off"
        ]
        told = cautions(session)
    units.close()
    assert (told == ()) is (off == [])
    assert all(name in str(told[0]) for name in off)
