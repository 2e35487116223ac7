"""Rows of what was read from pictures of cards: a proposal beside the ballot, never a ballot."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKeyConstraint, Index, LargeBinary
from sqlalchemy.orm import Mapped, deferred, mapped_column

from panel.core.card_reading import Decision, ReadingStanding
from panel.core.names import Channel, Role
from panel.store.base import Base, Word


class ReadingRow(Base):
    """One card in one picture. The picture can be erased; what was read of it stays.

    `words` is core.card_reading.reading_words, `reason` a message. `decided_by` is an id.
    """

    __tablename__ = "reading"
    __table_args__ = (
        ForeignKeyConstraint(["comparison", "tray"], ["tray.comparison", "tray.number"]),
        Index(None, "comparison", "tray"),
        CheckConstraint("number >= 1 AND page >= 1", name="counted_from_1"),
        CheckConstraint("length(picture_hash) IN (0, 64)", name="picture_hash"),
    )

    comparison: Mapped[str] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    tray: Mapped[int]
    channel: Mapped[Channel] = mapped_column(Word(Channel))
    file_hash: Mapped[str]
    page: Mapped[int]
    read_at: Mapped[datetime]
    words: Mapped[dict[str, Any]]
    picture_hash: Mapped[str]
    # Not read along with the row: lists need no pictures.
    picture: Mapped[bytes | None] = deferred(mapped_column(LargeBinary))
    standing: Mapped[ReadingStanding] = mapped_column(Word(ReadingStanding))
    reason: Mapped[dict[str, Any] | None]
    revision: Mapped[int | None]
    decision: Mapped[Decision | None] = mapped_column(Word(Decision))
    decided_role: Mapped[Role | None] = mapped_column(Word(Role))
    decided_by: Mapped[str]
    decided_at: Mapped[datetime | None]
