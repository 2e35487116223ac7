"""Facts about the database itself."""

from sqlalchemy.orm import Session

from panel.store.tables_record import MetaRow

INSTANCE_KEY = "instance-key"
"""Fingerprint of the instance key that the database was made with."""


def fact(session: Session, name: str) -> str | None:
    """The fact of that name, or None."""
    row = session.get(MetaRow, name)
    return None if row is None else row.value


def note(session: Session, name: str, value: str) -> None:
    """Write a fact down, over what was there."""
    session.merge(MetaRow(name=name, value=value))
    session.flush()
