"""Questions about sittings."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import fields
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.core.comparison import Sitting
from panel.core.names import SittingStanding
from panel.store.tables_comparison import SittingRow

COLUMNS = tuple(field.name for field in fields(Sitting))
"""A sitting's row has a column of the same name for each of its fields."""


def add(session: Session, comparison_id: str, sitting: Sitting) -> None:
    """Keep a new sitting after those that the comparison has."""
    last = session.scalar(
        select(func.max(SittingRow.ordinal)).where(SittingRow.comparison == comparison_id)
    )
    words = {name: getattr(sitting, name) for name in COLUMNS}
    session.add(SittingRow(comparison=comparison_id, ordinal=(last or 0) + 1, **words))
    session.flush()


def save(session: Session, comparison_id: str, sitting: Sitting) -> None:
    """Write a sitting that is known already, in its place."""
    row = _row(session, comparison_id, sitting.id)
    for name in COLUMNS:
        setattr(row, name, getattr(sitting, name))
    session.flush()


def remove(session: Session, comparison_id: str, sitting_id: str) -> None:
    """Take out a sitting that has no trays yet."""
    session.delete(_row(session, comparison_id, sitting_id))
    session.flush()


def set_standing(
    session: Session,
    comparison_id: str,
    sitting_id: str,
    standing: SittingStanding,
    at: datetime | None = None,
) -> None:
    """Move a sitting to a standing; `at` is kept as the moment of opening or closing."""
    row = _row(session, comparison_id, sitting_id)
    row.standing = standing
    if standing is SittingStanding.SERVING:
        row.opened = at
    if standing is SittingStanding.CLOSED:
        row.closed = at
    session.flush()


def load(session: Session, comparison_id: str, sitting_id: str) -> Sitting | None:
    """The sitting of that id, if it belongs to the comparison."""
    question = select(SittingRow).where(
        SittingRow.comparison == comparison_id, SittingRow.id == sitting_id
    )
    row = session.scalars(question).first()
    return None if row is None else _sitting(row)


def of_comparisons(
    session: Session, comparison_ids: Iterable[str]
) -> dict[str, tuple[Sitting, ...]]:
    """The sittings of each comparison in the order in which they were added."""
    found: dict[str, list[Sitting]] = defaultdict(list)
    question = select(SittingRow).where(SittingRow.comparison.in_(list(comparison_ids)))
    for row in session.scalars(question.order_by(SittingRow.ordinal)):
        found[row.comparison].append(_sitting(row))
    return {name: tuple(sittings) for name, sittings in found.items()}


def _row(session: Session, comparison_id: str, sitting_id: str) -> SittingRow:
    question = select(SittingRow).where(
        SittingRow.comparison == comparison_id, SittingRow.id == sitting_id
    )
    return session.scalars(question).one()


def _sitting(row: SittingRow) -> Sitting:
    return Sitting(**{name: getattr(row, name) for name in COLUMNS})
