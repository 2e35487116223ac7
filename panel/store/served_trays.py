"""A tray with all that a ballot is checked against, by two questions that were put together once.

Ballots come in by the hundred while everything else waits for one writer, so their way is short:
statements are built when the module is read, and rows come as they are, without the unit of work.
"""

from dataclasses import dataclass, fields

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session

from panel.core.comparison import Cup, Sitting, Tray
from panel.core.names import Standing
from panel.core.plan import Plan, plan_from_words
from panel.store.tables_comparison import ComparisonRow, SittingRow
from panel.store.tables_serving import CupRow, TrayRow


@dataclass(frozen=True, kw_only=True)
class ServedTray:
    """A tray, its sitting, and of its comparison (`comparison` is the id) its standing and plan."""

    comparison: str
    standing: Standing
    plan: Plan
    sitting: Sitting
    tray: Tray


TRAY_FIELDS = tuple(field.name for field in fields(Tray) if field.name != "cups")
SITTING_FIELDS = tuple(field.name for field in fields(Sitting))
"""Rows have a column of the same name for each."""

TRAY = (
    select(
        TrayRow.comparison,
        ComparisonRow.standing,
        ComparisonRow.plan,
        *(getattr(SittingRow, name) for name in SITTING_FIELDS),
        *(getattr(TrayRow, name) for name in TRAY_FIELDS),
    )
    .join(ComparisonRow, ComparisonRow.id == TrayRow.comparison)
    .join(SittingRow, SittingRow.id == TrayRow.sitting)
    .where(TrayRow.ref == bindparam("ref"))
)
CUPS = (
    select(CupRow.position, CupRow.code)
    .where(CupRow.comparison == bindparam("comparison"), CupRow.tray == bindparam("tray"))
    .order_by(CupRow.position)
)


def by_ref(session: Session, ref: str) -> ServedTray | None:
    """The tray of that name in addresses."""
    connection = session.connection()
    row = connection.execute(TRAY, {"ref": ref}).first()
    if row is None:
        return None
    comparison, standing, plan, *rest = row
    sitting = Sitting(**dict(zip(SITTING_FIELDS, rest, strict=False)))
    facts = dict(zip(TRAY_FIELDS, rest[len(SITTING_FIELDS) :], strict=True))
    place = {"comparison": comparison, "tray": facts["number"]}
    cups = tuple(Cup(position, code) for position, code in connection.execute(CUPS, place))
    return ServedTray(
        comparison=comparison,
        standing=standing,
        plan=plan_from_words(plan),
        sitting=sitting,
        tray=Tray(cups=cups, **facts),
    )
