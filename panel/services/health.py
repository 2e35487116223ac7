"""Whether the service can do its work now, for whoever watches over it."""

import tempfile
from enum import StrEnum
from pathlib import Path

from sqlalchemy import make_url, text

from panel.core.errors import PanelError
from panel.services.workplace import Workplace
from panel.store.durability import switched_off
from panel.store.migrations import HEAD, revision
from panel.store.session import Session

PROBE = b"\0" * 65_536
"""What must fit on the disk: the pages of a few ballots."""


class Lack(StrEnum):
    """What can be missing."""

    DATABASE = "database"  # it does not answer, or takes no writes
    SCHEMA = "schema"  # another Panel has changed it since this one started
    DISK = "disk"  # full, or not to be written


def lacks(at: Workplace) -> tuple[Lack, ...]:
    """What is missing now; () if everything works. Changes nothing, and waits for no writer."""
    found: list[Lack] = []
    try:
        with at.units.read() as session:
            if _takes_no_writes(session):
                found.append(Lack.DATABASE)
            if revision(session.connection()) != HEAD:
                found.append(Lack.SCHEMA)
    except PanelError:
        found.append(Lack.DATABASE)
    if not all(_has_room(folder) for folder in _folders(at)):
        found.append(Lack.DISK)
    return tuple(found)


def may_lose(at: Workplace) -> tuple[str, ...]:
    """Settings of the database server for want of which acknowledged ballots can be lost; only a
    database that is marked as one for tests is used in spite of them. () if it does not answer."""
    try:
        with at.units.read() as session:
            return switched_off(session)
    except PanelError:
        return ()


def _takes_no_writes(session: Session) -> bool:
    if session.get_bind().dialect.name == "sqlite":
        return False  # its file is as writable as its folder
    standby = session.scalar(text("SELECT pg_is_in_recovery()"))
    return bool(standby) or session.scalar(text("SHOW default_transaction_read_only")) == "on"


def _folders(at: Workplace) -> set[Path]:
    url = make_url(at.settings.database_url)
    own = {at.settings.instance}
    return own | {Path(url.database or "").parent} if url.get_backend_name() == "sqlite" else own


def _has_room(folder: Path) -> bool:
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(PROBE)
            file.flush()
    except OSError:
        return False
    return True
