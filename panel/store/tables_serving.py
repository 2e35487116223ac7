"""Rows of what is served and answered: trays, cups, ballots, answers.

Cups carry codes, never beers, and nothing here says right or wrong before closing.
"""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, ForeignKeyConstraint, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from panel.core.names import CardStanding, Channel, Reason
from panel.store.base import Base, Word


class TrayRow(Base):
    """One tray and its card. Tokens are here as SHA-256 only; `ref` names the tray in addresses.

    `taster` is a hand-out number or nickname and can be erased.
    """

    __tablename__ = "tray"
    __table_args__ = (
        ForeignKeyConstraint(["comparison", "sitting"], ["sitting.comparison", "sitting.id"]),
        Index(None, "comparison", "sitting"),
        CheckConstraint("number >= 1 AND wave >= 1 AND place >= 1", name="counted_from_1"),
        CheckConstraint("version >= 1", name="version"),
    )

    comparison: Mapped[str] = mapped_column(ForeignKey("comparison.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    sitting: Mapped[str]
    wave: Mapped[int]
    place: Mapped[int]
    spare: Mapped[bool]
    standing: Mapped[CardStanding] = mapped_column(Word(CardStanding))
    reason: Mapped[Reason | None] = mapped_column(Word(Reason))
    note: Mapped[str]
    taster: Mapped[str]
    version: Mapped[int]
    token_hash: Mapped[str] = mapped_column(unique=True)
    # Not unique: 40 bits may meet by chance, and a draw must not fail for it.
    short_hash: Mapped[str] = mapped_column(index=True)
    ref: Mapped[str] = mapped_column(unique=True)
    handed_out: Mapped[datetime | None]


class CupRow(Base):
    """One coded serving in its place on the tray."""

    __tablename__ = "cup"
    __table_args__ = (
        ForeignKeyConstraint(["comparison", "tray"], ["tray.comparison", "tray.number"]),
        UniqueConstraint("comparison", "tray", "code"),
        CheckConstraint("position >= 1", name="position"),
        CheckConstraint("length(code) = 3", name="code"),
    )

    comparison: Mapped[str] = mapped_column(primary_key=True)
    tray: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    position: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    code: Mapped[str]


class BallotRow(Base):
    """One revision of a tray's ballot; every revision is kept.

    `counted` is 1 on the one that counts and NULL on the others: both engines let a unique
    constraint hold any number of NULLs, so there is at most one counted ballot a tray.
    """

    __tablename__ = "ballot"
    __table_args__ = (
        ForeignKeyConstraint(["comparison", "tray"], ["tray.comparison", "tray.number"]),
        UniqueConstraint("comparison", "tray", "counted"),
        UniqueConstraint("comparison", "tray", "idempotency_key"),
        CheckConstraint("revision >= 1", name="revision"),
        CheckConstraint("counted = 1", name="counted"),
    )

    comparison: Mapped[str] = mapped_column(primary_key=True)
    tray: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    revision: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    channel: Mapped[Channel] = mapped_column(Word(Channel))
    received: Mapped[datetime]
    late: Mapped[bool]
    idempotency_key: Mapped[str | None]
    counted: Mapped[int | None]


class AnswerRow(Base):
    """The answer to one question of one revision, in the words of core.questions."""

    __tablename__ = "answer"
    __table_args__ = (
        ForeignKeyConstraint(
            ["comparison", "tray", "revision"],
            ["ballot.comparison", "ballot.tray", "ballot.revision"],
        ),
    )

    comparison: Mapped[str] = mapped_column(primary_key=True)
    tray: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    revision: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    question: Mapped[str] = mapped_column(primary_key=True)
    words: Mapped[list[str]]
