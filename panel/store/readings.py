"""Questions about readings of cards. Pictures are looked up one by one, never with a list."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session, undefer

from panel.core.card_reading import (
    Came,
    Decision,
    KeptReading,
    ReadingStanding,
    message_from_words,
    message_words,
    reading_from_words,
    reading_words,
)
from panel.core.names import Channel, Role
from panel.store.tables_reading import ReadingRow
from panel.store.tables_serving import BallotRow


def add(session: Session, comparison_id: str, reading: KeptReading) -> KeptReading:
    """Keep a reading as the next of its comparison; the reading with its number."""
    last = session.scalar(
        select(func.max(ReadingRow.number)).where(ReadingRow.comparison == comparison_id)
    )
    added = replace(reading, number=(last or 0) + 1)
    session.add(
        ReadingRow(
            comparison=comparison_id,
            number=added.number,
            tray=added.tray,
            channel=added.came.channel,
            file_hash=added.came.file_hash,
            page=added.came.page,
            read_at=added.read_at,
            words=reading_words(added.read),
            picture_hash=added.picture_hash,
            picture=added.read.picture,
            standing=added.standing,
            reason=None if added.reason is None else message_words(added.reason),
            revision=added.revision,
            decision=added.decision,
            decided_role=added.decided_role,
            decided_by=added.decided_by,
            decided_at=added.decided_at,
        )
    )
    session.flush()
    return added


def again(session: Session, comparison_id: str, tray: int, came: Came) -> KeptReading | None:
    """The reading of this card from the same page of the same file, if it was read before."""
    row = session.scalar(
        select(ReadingRow)
        .where(
            ReadingRow.comparison == comparison_id,
            ReadingRow.tray == tray,
            ReadingRow.file_hash == came.file_hash,
            ReadingRow.page == came.page,
        )
        .order_by(ReadingRow.number.desc())
        .limit(1)
    )
    return None if row is None else _reading(row, None)


def load(session: Session, comparison_id: str, number: int) -> KeptReading | None:
    """One reading with its picture."""
    row = session.scalar(
        select(ReadingRow)
        .where(ReadingRow.comparison == comparison_id, ReadingRow.number == number)
        .options(undefer(ReadingRow.picture))
    )
    return None if row is None else _reading(row, row.picture)


def of_trays(session: Session, comparison_id: str, trays: Iterable[int]) -> tuple[KeptReading, ...]:
    """The readings of these trays in the order in which they were read, without pictures."""
    rows = session.scalars(
        select(ReadingRow)
        .where(ReadingRow.comparison == comparison_id, ReadingRow.tray.in_(list(trays)))
        .order_by(ReadingRow.number)
    )
    return tuple(_reading(row, None) for row in rows)


def put_on_paper(session: Session, comparison_id: str) -> dict[int, datetime]:
    """Tray number to when its last ballot from paper came in."""
    question = (
        select(BallotRow.tray, func.max(BallotRow.received))
        .where(
            BallotRow.comparison == comparison_id,
            BallotRow.channel.in_([Channel.KEYED, Channel.SCANNED, Channel.IMPORTED]),
        )
        .group_by(BallotRow.tray)
    )
    return {tray: received for tray, received in session.execute(question)}


def settle(
    session: Session,
    comparison_id: str,
    number: int,
    *,
    standing: ReadingStanding,
    revision: int | None,
    decision: Decision,
    role: Role,
    person: str,
    now: datetime,
) -> None:
    """Note what a person made of a reading."""
    session.execute(
        update(ReadingRow)
        .where(ReadingRow.comparison == comparison_id, ReadingRow.number == number)
        .values(
            standing=standing,
            revision=revision,
            decision=decision,
            decided_role=role,
            decided_by=person,
            decided_at=now,
        )
    )


def erase_pictures(session: Session, comparison_id: str, tray: int | None = None) -> int:
    """Take the pictures away (a hand can be known by its writing), of all trays or of one; how
    many."""
    mine = [ReadingRow.comparison == comparison_id, ReadingRow.picture.is_not(None)]
    if tray is not None:
        mine.append(ReadingRow.tray == tray)
    found = session.scalars(select(ReadingRow.number).where(*mine)).all()
    if found:
        session.execute(update(ReadingRow).where(*mine).values(picture=None))
    return len(found)


def _reading(row: ReadingRow, picture: bytes | None) -> KeptReading:
    return KeptReading(
        number=row.number,
        tray=row.tray,
        came=Came(channel=row.channel, file_hash=row.file_hash, page=row.page),
        read_at=row.read_at,
        read=reading_from_words(row.words, picture),
        picture_hash=row.picture_hash,
        standing=row.standing,
        reason=None if row.reason is None else message_from_words(row.reason),
        revision=row.revision,
        decision=row.decision,
        decided_role=row.decided_role,
        decided_by=row.decided_by,
        decided_at=row.decided_at,
    )
