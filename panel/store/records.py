"""The record in the database: appended to, read, verified; never changed."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import fields
from datetime import datetime

from sqlalchemy import bindparam, func, insert, select
from sqlalchemy.orm import Session

from panel.core.deeds import Deed
from panel.core.names import Role
from panel.core.record import Fact, Record, first_broken, moment_text, next_record
from panel.store.tables_record import RecordRow

PORTION = 500
LINES = select(*(getattr(RecordRow, field.name) for field in fields(Record)))
"""A line's row has a column of the same name for each field of a Record."""
NEWEST = (
    LINES.where(RecordRow.chain == bindparam("of")).order_by(RecordRow.sequence.desc()).limit(1)
)
LINE = insert(RecordRow)
ENDS = "ends of chains"
"""In a session's notes: the newest line of each chain that it has appended to. A session has one
transaction, and nobody else writes meanwhile (store.session)."""


def append(
    session: Session,
    chain: str,
    at: datetime,
    *,
    role: str,
    who: str,
    what: Deed,
    subject: str = "",
    detail: Mapping[str, Fact] | None = None,
) -> Record:
    """One more line of a chain (a comparison's id, or core.record.INSTANCE).

    One writer at a time, so lines follow each other as transactions are committed. ValueError for
    names and free words.
    """
    ends: dict[str, Record | None] = session.info.setdefault(ENDS, {})
    if chain not in ends:
        ends[chain] = last(session, chain)
    line = next_record(
        ends[chain], chain, at, role=role, who=who, what=what, subject=subject, detail=detail
    )
    session.connection().execute(LINE, vars(line))
    ends[chain] = line
    return line


def last(session: Session, chain: str) -> Record | None:
    """The newest line of a chain; its hash stands for all before it."""
    row = session.connection().execute(NEWEST, {"of": chain}).first()
    return None if row is None else Record(**row._asdict())


def tells(session: Session, chain: str, what: Deed, subject: str, role: Role | None = None) -> bool:
    """Whether a chain has a line of that deed about that subject; with a role, of people in it."""
    found = select(RecordRow.sequence).where(
        RecordRow.chain == chain, RecordRow.what == what, RecordRow.subject == subject
    )
    if role is not None:
        found = found.where(RecordRow.role == role)
    return session.scalars(found.limit(1)).first() is not None


def subjects(session: Session, chain: str, what: Deed, role: Role | None = None) -> tuple[str, ...]:
    """The subjects of every line of that deed, first to last; with a role, of people in it."""
    found = select(RecordRow.subject).where(RecordRow.chain == chain, RecordRow.what == what)
    if role is not None:
        found = found.where(RecordRow.role == role)
    return tuple(session.scalars(found.order_by(RecordRow.sequence)))


def count_since(session: Session, chain: str, what: Deed, since: datetime) -> int:
    """How many lines of that deed a chain has from a moment (aware) on."""
    moment = moment_text(since)  # all have one form and UTC, so that text sorts as time does
    found = select(func.count()).where(
        RecordRow.chain == chain, RecordRow.what == what, RecordRow.at >= moment
    )
    return session.scalars(found).one()


def details(session: Session, chain: str, what: Deed) -> tuple[dict[str, Fact], ...]:
    """The details of every line of that deed, first to last."""
    found = select(RecordRow.detail).where(RecordRow.chain == chain, RecordRow.what == what)
    return tuple(json.loads(one) for one in session.scalars(found.order_by(RecordRow.sequence)))


def of_chain(session: Session, chain: str) -> Iterator[Record]:
    """All lines of a chain from the first on, read in portions."""
    mine = LINES.where(RecordRow.chain == chain).order_by(RecordRow.sequence).limit(PORTION)
    portion = session.execute(mine).all()
    while portion:
        for row in portion:
            yield Record(**row._asdict())
        portion = session.execute(mine.where(RecordRow.sequence > portion[-1].sequence)).all()


def chains(session: Session) -> tuple[str, ...]:
    """The names of all chains."""
    return tuple(session.scalars(select(RecordRow.chain).distinct().order_by(RecordRow.chain)))


def verify(session: Session, chain: str) -> int | None:
    """The place, from 1, at which a chain breaks first; None if it is whole."""
    return first_broken(of_chain(session, chain))
