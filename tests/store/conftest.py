"""A database with the schema, once on SQLite and once on PostgreSQL."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import event

from panel.store.migrations import upgrade
from panel.store.session import Units, make_engine


@pytest.fixture
def units(database_url: str) -> Iterator[Units]:
    """Units of work on an empty database that has the schema."""
    opened = Units(make_engine(database_url))
    upgrade(opened.engine)
    yield opened
    opened.close()


@pytest.fixture
def sqlite_units(sqlite_url: str) -> Iterator[Units]:
    """The same on SQLite alone."""
    opened = Units(make_engine(sqlite_url))
    upgrade(opened.engine)
    yield opened
    opened.close()


@pytest.fixture
def statements(units: Units):
    """A block that lists the questions put to the database inside it, transactions left out."""

    @contextmanager
    def listed() -> Iterator[list[str]]:
        asked: list[str] = []

        def note(_connection, _cursor, statement, *_rest):
            if statement.lstrip().upper().startswith(("SELECT", "INSERT", "UPDATE", "DELETE")):
                asked.append(statement)

        event.listen(units.engine, "before_cursor_execute", note)
        try:
            yield asked
        finally:
            event.remove(units.engine, "before_cursor_execute", note)

    return listed
