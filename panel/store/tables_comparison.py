"""Rows of what is compared: the evening, the comparison, its beers, sittings, seal, amendments."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, ForeignKeyConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from panel.core.names import (
    Blinding,
    Helpers,
    Information,
    Paper,
    SittingKind,
    SittingStanding,
    Standing,
)
from panel.store.base import Base, Word


class EveningRow(Base):
    """Several comparisons served to the same people on one day."""

    __tablename__ = "evening"

    id: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    created: Mapped[datetime]


class ComparisonRow(Base):
    """One comparison. `plan` and `serving` are core.plan.as_words, `duties` is
    core.duties.duties_words, and None in rows from before there were any."""

    __tablename__ = "comparison"

    id: Mapped[str] = mapped_column(primary_key=True)
    slug: Mapped[str] = mapped_column(unique=True)
    evening: Mapped[str | None] = mapped_column(ForeignKey("evening.id"), index=True)
    title: Mapped[str]
    neutral_title: Mapped[str]
    variable: Mapped[str]
    plan: Mapped[dict[str, Any]]
    serving: Mapped[dict[str, Any]]
    drink: Mapped[str]
    organised_by: Mapped[str]
    helpers: Mapped[Helpers] = mapped_column(Word(Helpers))
    blinding: Mapped[Blinding] = mapped_column(Word(Blinding))
    standing: Mapped[Standing] = mapped_column(Word(Standing))
    created: Mapped[datetime]
    closed: Mapped[datetime | None]
    published: Mapped[datetime | None]
    waived: Mapped[str]
    duties: Mapped[dict[str, Any] | None]


class BeerRow(Base):
    """One batch under comparison."""

    __tablename__ = "beer"

    comparison: Mapped[str] = mapped_column(ForeignKey("comparison.id"), primary_key=True)
    letter: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    value: Mapped[str]
    abv: Mapped[Decimal | None]
    cover_name: Mapped[str]
    notes: Mapped[str]


class MeasurementRow(Base):
    """One figure of a beer's batch sheet: value as an exact decimal, unit as written."""

    __tablename__ = "measurement"
    __table_args__ = (
        ForeignKeyConstraint(["comparison", "letter"], ["beer.comparison", "beer.letter"]),
    )

    comparison: Mapped[str] = mapped_column(primary_key=True)
    letter: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Decimal]
    unit: Mapped[str]


class SittingRow(Base):
    """One occasion. `ordinal` keeps the order in which sittings were added."""

    __tablename__ = "sitting"
    __table_args__ = (
        UniqueConstraint("comparison", "id"),  # what a tray's foreign key points at
        UniqueConstraint("comparison", "ordinal"),
        CheckConstraint("planned >= 0 AND drawn >= 0", name="counts"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    comparison: Mapped[str] = mapped_column(ForeignKey("comparison.id"))
    ordinal: Mapped[int]
    name: Mapped[str]
    kind: Mapped[SittingKind] = mapped_column(Word(SittingKind))
    information: Mapped[Information] = mapped_column(Word(Information))
    planned: Mapped[int]
    drawn: Mapped[int]
    place: Mapped[str]
    starts: Mapped[datetime]
    zone: Mapped[str]
    told: Mapped[str]
    language: Mapped[str]
    paper: Mapped[Paper] = mapped_column(Word(Paper))
    groups_drawn: Mapped[bool]
    standing: Mapped[SittingStanding] = mapped_column(Word(SittingStanding))
    opened: Mapped[datetime | None]
    closed: Mapped[datetime | None]


class SealRow(Base):
    """The commitment and what it covers. The database refuses to change comparison, digest,
    document and made, and to change `opened` once it is there. The ciphertext may be replaced:
    a sitting that the plan foresaw adds its trays, a new instance key wraps it anew."""

    __tablename__ = "seal"

    comparison: Mapped[str] = mapped_column(ForeignKey("comparison.id"), primary_key=True)
    digest: Mapped[str]
    document: Mapped[str]  # canonical bytes of the plan document, UTF-8
    made: Mapped[datetime]
    ciphertext: Mapped[bytes]
    algorithm: Mapped[str]
    version: Mapped[int]
    opened: Mapped[dict[str, Any] | None]  # secret and key, in words, after closing


class AmendmentRow(Base):
    """A change after sealing, with its reason; never edited."""

    __tablename__ = "amendment"
    __table_args__ = (CheckConstraint("number >= 1", name="number"),)

    comparison: Mapped[str] = mapped_column(ForeignKey("comparison.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    person: Mapped[str]
    what: Mapped[str]
    reason: Mapped[str]
