"""What stands between an acknowledged ballot and the disk, as far as the database tells."""

import sqlite3

from sqlalchemy import text
from sqlalchemy.orm import Session

from panel.core.message import Message, say
from panel.store.session import DURABLE

WAL_MENDED = (3, 51, 3)
"""SQLite's change log: before 3.51.3 a rare race of a writer with a checkpoint can damage the file
(mended in 3.53.0 as well; distributions may have mended an older one of theirs)."""


def cautions(session: Session) -> tuple[Message, ...]:
    """What the operator should know of this database; () if there is nothing to say."""
    if session.get_bind().dialect.name == "sqlite":
        return _of_sqlite(sqlite3.sqlite_version_info)
    return _of_postgresql(session)


def _of_sqlite(version: tuple[int, ...]) -> tuple[Message, ...]:
    if version >= WAL_MENDED:
        return ()
    return (
        say(
            "This Python brings SQLite %(version)s. From 3.51.3 on a rare fault is mended that "
            "could damage the database file; if your system has not mended its own, use a newer "
            "Python, and keep backups either way.",
            version=".".join(str(part) for part in version),
        ),
    )


def _of_postgresql(session: Session) -> tuple[Message, ...]:
    off = switched_off(session)
    if not off:
        return ()
    return (
        say(
            "This database is marked as one for tests, and PostgreSQL runs with %(settings)s "
            "switched off: ballots WILL be lost when the power goes. Never serve an evening "
            "from it.",
            settings=", ".join(off),
        ),
    )


def switched_off(session: Session) -> tuple[str, ...]:
    """What the database server does without although acknowledged ballots hang on it; () if
    nothing, and always () for SQLite, whose connections are refused otherwise."""
    if session.get_bind().dialect.name == "sqlite":
        return ()
    return tuple(name for name in DURABLE if session.scalar(text(f"SHOW {name}")) != "on")
