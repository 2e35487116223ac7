"""What every table shares: one declarative base, named constraints, and the types of columns.

Types refuse what would be stored wrongly rather than bend it: a naive moment, a foreign word, a
binary fraction where an exact decimal is meant.
"""

from datetime import UTC, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, ClassVar, Generic, TypeVar

from sqlalchemy import JSON, DateTime, Dialect, MetaData, Text
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator, TypeEngine

# Every constraint has a name of its own, so that a migration can drop it on either engine.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

WordT = TypeVar("WordT", bound=StrEnum)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC. A naive datetime is refused: nobody could say which moment it means."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a moment needs its time zone: {value!r}")
        moment = value.astimezone(UTC)
        # SQLite has no type for moments; its rows hold UTC and say nothing of a zone.
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, _dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Word(TypeDecorator[WordT], Generic[WordT]):
    """One word of a closed list (an enum of core.names), stored as its text."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[WordT]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: WordT | None, _dialect: Dialect) -> str | None:
        return None if value is None else self.words(value).value

    def process_result_value(self, value: str | None, _dialect: Dialect) -> WordT | None:
        return None if value is None else self.words(value)


class Exact(TypeDecorator[Decimal]):
    """An exact decimal as text: SQLite would make a binary fraction of it."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, _dialect: Dialect) -> str | None:
        if value is None:
            return None
        if not isinstance(value, Decimal) or not value.is_finite():
            raise ValueError(f"an exact decimal is needed: {value!r}")
        return str(value)

    def process_result_value(self, value: str | None, _dialect: Dialect) -> Decimal | None:
        return None if value is None else Decimal(value)


class Base(DeclarativeBase):
    """Rows have columns only; every rule lives in the core."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar[dict[Any, type[TypeEngine[Any]] | TypeEngine[Any]]] = {
        str: Text(),
        datetime: Moment(),
        Decimal: Exact(),
        dict[str, Any]: JSON(none_as_null=True),
        list[str]: JSON(none_as_null=True),
    }
