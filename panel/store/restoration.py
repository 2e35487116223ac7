"""A backup becomes a database again: built and proved beside, then put in place in one step."""

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import SQLAlchemyError

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.names import Role
from panel.core.record import INSTANCE
from panel.store import invitations, meta, records, signins
from panel.store.migrations import bring_to, revision, upgrade
from panel.store.plain_rows import insert_rows, rows_of
from panel.store.session import WRITES, Units, in_words, make_engine
from panel.store.snapshot import DATABASE, Manifest, opened, rows_in, unusable
from panel.store.tables import Base

OPERATOR = "command-line"
"""Who restores: whoever may run a command on the machine."""


def as_database(folder: Path, manifest: Manifest) -> Path:
    """The backup in a folder as a database file of the schema that wrote it."""
    path = folder / DATABASE
    if manifest.data == DATABASE:
        return path
    engine = make_engine(f"sqlite:///{path.as_posix()}")
    try:
        with engine.execution_options(**{WRITES: True}).begin() as connection:
            bring_to(connection, manifest.schema)
            insert_rows(connection, rows_in(folder))
    except (SQLAlchemyError, KeyError, ValueError, TypeError, AttributeError) as failure:
        raise unusable(str(say("its rows cannot be read"))) from failure
    finally:
        engine.dispose()
    return path


def bring_up(path: Path, manifest: Manifest, now: datetime) -> str:
    """Take a proved database file to the newest schema, shut every door of its own moment, and
    record that it was restored; the fingerprint of the instance key it was made with."""
    with closing(Units(make_engine(f"sqlite:///{path.as_posix()}"))) as units:
        upgrade(units.engine)
        with units.begin() as session:
            # What was ended or used up since the backup would be open again: nothing is.
            signins.revoke_all(session, now)
            invitations.revoke_unused(session, now)
            records.append(
                session, INSTANCE, now, role=Role.ORGANISER, who=OPERATOR, what=Deed.RESTORED,
                detail={"schema": manifest.schema, "data": manifest.files[manifest.data]},
            )  # fmt: skip
            return meta.fact(session, meta.INSTANCE_KEY) or ""


def is_empty(units: Units) -> bool:
    """Whether nobody has begun anything in a database; False for one that cannot be read."""
    try:
        with units.read() as session:
            if revision(session.connection()) is None:
                return True
            return not any(
                session.execute(text(f"SELECT 1 FROM {table}")).first()
                for table in ("person", "comparison")
            )
    except (PanelError, SQLAlchemyError):
        return False


def swap_file(staged: Path, target: Path, kept: Path) -> None:
    """Put a database file in the place of another, which goes to `kept`.

    PanelError (fault PLACE), and nothing changed, if anybody has the other one open.
    """
    try:
        if target.exists():
            _alone(target)
            _move(target, kept)
        target.parent.mkdir(parents=True, exist_ok=True)
        try:
            staged.replace(target)
        except OSError:
            _move(kept, target)
            raise
    except OSError as failure:
        raise _not_swapped(target, failure) from failure


def _move(source: Path, target: Path) -> None:
    """A database file with what lies beside it: a damaged one keeps its log."""
    for end in ("", "-wal", "-shm"):
        beside = source.with_name(source.name + end)
        if beside.exists():
            beside.rename(target.with_name(target.name + end))


def swap_rows(staged: Path, engine: Engine) -> None:
    """Put the rows of a database file in the place of a PostgreSQL database's, all or none."""
    with (
        in_words(),
        opened(staged) as source,
        engine.execution_options(**{WRITES: True}).begin() as connection,
    ):
        _clear(connection)
        bring_to(connection)
        insert_rows(connection, rows_of(source))


def _alone(target: Path) -> None:
    """Empty the log of a database that nobody has open. PanelError if somebody has."""
    try:
        with closing(sqlite3.connect(target, timeout=0)) as connection:
            # The file can leave its log only when no other connection is open.
            connection.execute("PRAGMA journal_mode = DELETE").fetchall()
    except sqlite3.OperationalError as refusal:
        if refusal.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            raise PanelError(
                "service-running",
                say(
                    "Panel is running on this database. Stop it first (Ctrl-C in its window), then "
                    "restore. Nothing was changed."
                ),
                Fault.PLACE,
            ) from refusal
    except sqlite3.DatabaseError:
        pass  # damaged: it is kept as it is


def _clear(connection: Connection) -> None:
    for table in (*Base.metadata.tables, "alembic_version"):
        connection.execute(text(f"DROP TABLE IF EXISTS {table} CASCADE"))
    functions = connection.execute(
        text(
            "SELECT CAST(CAST(oid AS regprocedure) AS text) FROM pg_proc WHERE pronamespace = "
            "CAST(current_schema() AS regnamespace) AND proname ~ '^refuse_[a-z]+_change$'"
        )
    )
    for name in functions.scalars().all():
        connection.execute(text(f"DROP FUNCTION {name}"))


def _not_swapped(target: Path, failure: OSError) -> PanelError:
    return PanelError(
        "database-not-replaced",
        say(
            "The database %(file)s could not be replaced (%(why)s). Stop whatever has it open, let "
            "this account write there, and restore again.",
            file=str(target),
            why=failure.strerror or str(failure),
        ),
        Fault.PLACE,
    )
