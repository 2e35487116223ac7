"""Rows as plain words, so that they can leave one engine and enter either.

Tables are read from the database as it stands, not from the declared rows: a backup is also taken
of a schema that is older than this program.
"""

import base64
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from itertools import groupby
from typing import Any

from sqlalchemy import JSON, Connection, DateTime, LargeBinary, MetaData, Table, func, select, text

from panel.store.tables import Base

PORTION = 500

Row = dict[str, Any]
"""Column to value: text, whole number, true or false, null, or what a JSON column holds."""


def rows_of(connection: Connection) -> Iterator[tuple[str, Row]]:
    """Every row of our own tables as (table, row), in an order that foreign keys can bear."""
    for table in _tables(connection):
        # In the order of the key: the same rows give the same bytes.
        question = select(table).order_by(*table.primary_key.columns)
        for row in connection.execute(question.execution_options(yield_per=PORTION)):
            yield table.name, {name: _plain(value) for name, value in row._asdict().items()}


def count_rows(connection: Connection) -> dict[str, int]:
    """Rows by table, tables without rows left out."""
    counts = {
        table.name: connection.scalar(select(func.count()).select_from(table)) or 0
        for table in _tables(connection)
    }
    return {name: count for name, count in counts.items() if count}


def insert_rows(connection: Connection, rows: Iterable[tuple[str, Row]]) -> None:
    """Put rows into the empty tables of a schema. KeyError for a table or column that it lacks."""
    tables = {table.name: table for table in _tables(connection)}
    for name, many in groupby(rows, key=lambda pair: pair[0]):
        table = tables[name]
        portion: list[Row] = []
        for _, row in many:
            portion.append({column: _typed(table, column, value) for column, value in row.items()})
            if len(portion) == PORTION:
                connection.execute(table.insert(), portion)
                portion = []
        if portion:
            connection.execute(table.insert(), portion)
    if connection.dialect.name == "postgresql":
        _count_on(connection, tables.values())


def _tables(connection: Connection) -> list[Table]:
    ours = Base.metadata.tables
    there = MetaData()
    there.reflect(connection, only=lambda name, _metadata: name in ours)
    for table in there.tables.values():
        for column in table.columns:
            if isinstance(column.type, JSON):
                column.type = JSON(none_as_null=True)  # nothing stays nothing, not the word null
    return list(there.sorted_tables)


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        moment = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
        return moment.isoformat(timespec="microseconds")
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    return value


def _typed(table: Table, column: str, value: Any) -> Any:
    kind = table.columns[column].type
    if value is None:
        return None
    if isinstance(kind, DateTime):
        moment = datetime.fromisoformat(value)
        # SQLite has no type for moments; its rows hold UTC and say nothing of a zone.
        return moment if kind.timezone else moment.replace(tzinfo=None)
    if isinstance(kind, LargeBinary):
        return base64.b64decode(value, validate=True)
    return value


def _count_on(connection: Connection, tables: Iterable[Table]) -> None:
    """Numbers that PostgreSQL gives by itself go on after the highest that came in."""
    for table in tables:
        for column in table.columns:
            if "nextval" not in str(getattr(column.server_default, "arg", "")):
                continue
            highest = connection.scalar(select(func.max(column)))
            if highest is not None:
                connection.execute(
                    text("SELECT setval(pg_get_serial_sequence(:name, :column), :highest)"),
                    {"name": table.name, "column": column.name, "highest": highest},
                )
