"""Questions about amendments."""

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.core.amendment import Amendment
from panel.store.tables_comparison import AmendmentRow


def add(
    session: Session, comparison_id: str, *, at: datetime, person: str, what: str, reason: str
) -> int:
    """Keep an amendment; its number in the comparison. person: the id of who wrote it."""
    last = session.scalar(
        select(func.max(AmendmentRow.number)).where(AmendmentRow.comparison == comparison_id)
    )
    number = (last or 0) + 1
    session.add(
        AmendmentRow(
            comparison=comparison_id, number=number, at=at, person=person, what=what, reason=reason
        )
    )
    session.flush()
    return number


def of_comparison(session: Session, comparison_id: str) -> tuple[Amendment, ...]:
    """All amendments in the order in which they were written."""
    question = select(AmendmentRow).where(AmendmentRow.comparison == comparison_id)
    return tuple(
        Amendment(number=row.number, made=row.at, what=row.what, reason=row.reason)
        for row in session.scalars(question.order_by(AmendmentRow.number))
    )
