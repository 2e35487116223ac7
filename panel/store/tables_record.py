"""Rows of the log and of the database itself."""

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from panel.store.base import Base


class RecordRow(Base):
    """One line of a hash chain: who did what when, in ids and numbers. The database refuses to
    change or delete it, so it must never hold a name or free words. All is text as it was hashed,
    so that a line that was tampered with can still be read and found out."""

    __tablename__ = "record"
    __table_args__ = (CheckConstraint("sequence >= 1", name="sequence"),)

    chain: Mapped[str] = mapped_column(primary_key=True)
    sequence: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[str]
    role: Mapped[str]
    who: Mapped[str]
    what: Mapped[str]
    subject: Mapped[str]
    detail: Mapped[str]  # canonical JSON
    previous: Mapped[str]
    hash: Mapped[str]


class MetaRow(Base):
    """A fact about this database, such as the fingerprint of the instance key it was made with."""

    __tablename__ = "meta"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]
