"""Questions about what was measured on the beers."""

from collections.abc import Iterable

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from panel.core.measurement import Measurement
from panel.store.tables_comparison import MeasurementRow


def save(session: Session, comparison_id: str, measurements: Iterable[Measurement]) -> None:
    """Write a comparison's batch sheet, in place of what was there."""
    session.execute(delete(MeasurementRow).where(MeasurementRow.comparison == comparison_id))
    session.add_all(
        MeasurementRow(
            comparison=comparison_id,
            letter=measurement.letter,
            name=measurement.name,
            value=measurement.value,
            unit=measurement.unit,
        )
        for measurement in measurements
    )
    session.flush()


def of_comparison(session: Session, comparison_id: str) -> tuple[Measurement, ...]:
    """A comparison's batch sheet by name, then beer."""
    question = select(MeasurementRow).where(MeasurementRow.comparison == comparison_id)
    rows = session.scalars(question.order_by(MeasurementRow.name, MeasurementRow.letter))
    return tuple(
        Measurement(letter=row.letter, name=row.name, value=row.value, unit=row.unit)
        for row in rows
    )
