"""A database that any step of the schema left behind is brought up to date with all that is in it.

The old tables are made by the old steps themselves, and hold a whole evening's rows.
"""

from collections.abc import Iterable
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Connection, inspect

from panel import settings as settings_room
from panel.core.allocation.check_letter import card_number
from panel.services import open_sitting, plan_comparison, settle_ballots, take_ballot
from panel.services.close_and_unseal import close
from panel.services.tally import findings
from panel.services.workplace import open_workplace
from panel.store import records
from panel.store.migrations import HEAD, bring_to, known_steps, revision
from panel.store.plain_rows import Row, insert_rows, rows_of
from panel.store.session import WRITES, make_engine
from panel.store.tables import Base
from tests.builders import ORGANISER, Clock, answers, serving, trays, workplace
from tests.readings import waiting_reading

OLDER = sorted(known_steps() - {HEAD})


Columns = dict[str, set[str]]


def columns_of(connection: Connection) -> Columns:
    """Table to its columns, as a database has them."""
    inspector = inspect(connection)
    return {
        name: {column["name"] for column in inspector.get_columns(name)}
        for name in inspector.get_table_names()
    }


def within(columns: Columns, rows: Iterable[tuple[str, Row]]) -> list[tuple[str, Row]]:
    """What of these rows such a database has room for."""
    return [
        (name, {column: row[column] for column in sorted(columns[name] & set(row))})
        for name, row in rows
        if name in columns
    ]


def test_there_are_older_steps() -> None:
    assert OLDER[:3] == ["0001", "0002", "0003"]


@pytest.mark.parametrize("step", OLDER)
def test_an_evening_goes_on_after_every_older_step(
    step: str, database_url: str, tmp_path: Path
) -> None:
    folder = tmp_path / "instance"
    with workplace(f"sqlite:///{tmp_path / 'evening.db'}", folder) as at:
        known = serving(at)
        first, second = trays(at, known)[:2]
        take_ballot.take_keyed(
            at, ORGANISER, known.id, card_number(first.number), answers(known, first), "k" * 32
        )
        waiting_reading(at, known, second)
        with at.units.read() as session:
            evening = list(rows_of(session.connection()))
    old = make_engine(database_url)
    with old.execution_options(**{WRITES: True}).begin() as connection:
        bring_to(connection, step)
        columns = columns_of(connection)
        kept = within(columns, evening)
        assert {"ballot", "answer", "seal", "record", "cup"} <= {name for name, _ in kept}
        insert_rows(connection, kept)
    old.dispose()
    settings = settings_room.load({"PANEL_DATABASE_URL": database_url}, folder)
    again = open_workplace(settings, Clock())
    try:
        with again.units.engine.connect() as connection:
            assert revision(connection) == HEAD
            options = {"compare_type": True, "compare_server_default": True}
            drift = MigrationContext.configure(connection, opts=options)
            assert compare_metadata(drift, Base.metadata) == []
        with again.units.read() as session:
            after = within(columns, rows_of(session.connection()))
            assert [one for one in kept if one not in after] == []
            assert records.verify(session, known.id) is None
        third = trays(again, known)[2]
        take_ballot.take_keyed(
            again, ORGANISER, known.id, card_number(third.number), answers(known, third), "m" * 32
        )
        sitting = plan_comparison.comparison(again, ORGANISER, known.id).sittings[0].id
        open_sitting.close_sitting(again, ORGANISER, known.id, sitting)
        settle_ballots.set_aside_rest(again, ORGANISER, known.id)
        close(again, ORGANISER, known.id)
        main = findings(again, ORGANISER, known.id).result.main
        assert main is not None
        assert main.tasters == 2
    finally:
        again.units.close()
