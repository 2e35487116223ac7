"""Facts about the database itself."""

from sqlalchemy.orm import Session

from panel.store.tables_record import MetaRow

INSTANCE_KEY = "instance-key"
"""Fingerprint of the instance key that the database was made with."""
PRINTER = "printer"
"""The correction of the installation's printer, as JSON."""


def fact(session: Session, name: str) -> str | None:
    """The fact of that name, or None."""
    row = session.get(MetaRow, name)
    return None if row is None else row.value


def note(session: Session, name: str, value: str) -> None:
    """Write a fact down, over what was there."""
    session.merge(MetaRow(name=name, value=value))
    session.flush()


def forget(session: Session, name: str) -> None:
    """Strike a fact out, if it is there."""
    row = session.get(MetaRow, name)
    if row is not None:
        session.delete(row)
        session.flush()
