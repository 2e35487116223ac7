"""Questions about trays and their cups. Tokens come in as they are and are kept as hashes only."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, bindparam, func, insert, select, update
from sqlalchemy.orm import Session

from panel.core.comparison import Cup, Tray
from panel.core.names import CardStanding, Reason
from panel.core.paper.payload import ref_of, short_hash, token_hash
from panel.store.tables_serving import CupRow, TrayRow

MOVED = update(TrayRow).where(
    TrayRow.comparison == bindparam("of"), TrayRow.number == bindparam("tray")
)
"""Sets whichever columns it is given."""


@dataclass(frozen=True)
class FoundTray:
    """A tray found by its card: which comparison it is of, and the name it has in addresses."""

    comparison: str
    ref: str
    tray: Tray


def add_many(
    session: Session,
    comparison_id: str,
    trays: Iterable[Tray],
    tokens: Mapping[int, tuple[str, str]],
) -> None:
    """Keep new trays with their cups. tokens: tray number to (token, typed short code)."""
    many = tuple(trays)
    if not many:
        return
    session.execute(
        insert(TrayRow),
        [
            {
                "comparison": comparison_id,
                "number": tray.number,
                "sitting": tray.sitting,
                "wave": tray.wave,
                "place": tray.place,
                "spare": tray.spare,
                "standing": tray.standing,
                "reason": tray.reason,
                "note": tray.note,
                "taster": tray.taster,
                "version": tray.version,
                "handed_out": tray.handed_out,
                **_hashes(*tokens[tray.number]),
            }
            for tray in many
        ],
    )
    session.execute(
        insert(CupRow),
        [
            {
                "comparison": comparison_id,
                "tray": tray.number,
                "position": cup.position,
                "code": cup.code,
            }
            for tray in many
            for cup in tray.cups
        ],
    )


def load(session: Session, comparison_id: str, number: int) -> Tray | None:
    """The tray of that number."""
    found = _found(session, TrayRow.comparison == comparison_id, TrayRow.number == number)
    return found[0].tray if found else None


def of_sitting(session: Session, comparison_id: str, sitting_id: str) -> tuple[Tray, ...]:
    """A sitting's trays by number, spares among them."""
    found = _found(session, TrayRow.comparison == comparison_id, TrayRow.sitting == sitting_id)
    return tuple(one.tray for one in found)


def of_comparison(session: Session, comparison_id: str) -> tuple[Tray, ...]:
    """All trays of a comparison by number."""
    return tuple(one.tray for one in _found(session, TrayRow.comparison == comparison_id))


def refs(session: Session, comparison_id: str) -> dict[int, str]:
    """Tray number to the name it has in addresses."""
    question = select(TrayRow.number, TrayRow.ref).where(TrayRow.comparison == comparison_id)
    return {number: ref for number, ref in session.execute(question.order_by(TrayRow.number))}


def by_ref(session: Session, ref: str) -> FoundTray | None:
    """The tray of that name in addresses."""
    found = _found(session, TrayRow.ref == ref)
    return found[0] if found else None


def by_token_hash(session: Session, hashed: str) -> FoundTray | None:
    """The tray whose card holds the token of that SHA-256 (hex)."""
    found = _found(session, TrayRow.token_hash == hashed)
    return found[0] if found else None


def by_short_hash(session: Session, hashed: str) -> tuple[FoundTray, ...]:
    """Trays whose typed code has that SHA-256 (hex): one, none, or by rare chance (40 bits)
    several of different comparisons."""
    return _found(session, TrayRow.short_hash == hashed)


def set_standing(
    session: Session,
    comparison_id: str,
    numbers: int | Sequence[int],
    standing: CardStanding,
    *,
    reason: Reason | None = None,
    note: str = "",
    at: datetime | None = None,
) -> None:
    """Move one tray or many to a standing, reason and note with it.

    `at` is kept as the moment of handing out, unless the tray goes back to the table.
    """
    changes: dict[str, object] = {"standing": standing, "reason": reason, "note": note}
    if at is not None or standing is CardStanding.PRINTED:
        changes["handed_out"] = at
    wanted = [numbers] if isinstance(numbers, int) else numbers
    moved = [{"of": comparison_id, "tray": number, **changes} for number in wanted]
    if moved:
        session.connection().execute(MOVED, moved)


def set_taster(session: Session, comparison_id: str, number: int, taster: str) -> None:
    """Write the hand-out number or nickname of whoever has the tray; "" takes it away."""
    _row(session, comparison_id, number).taster = taster
    session.flush()


def erase_tasters(session: Session, comparison_id: str, number: int | None = None) -> int:
    """Take every nickname and note of a comparison away, or of one tray; how many trays had one."""
    mine = [TrayRow.comparison == comparison_id, (TrayRow.taster != "") | (TrayRow.note != "")]
    if number is not None:
        mine.append(TrayRow.number == number)
    found = session.scalars(select(TrayRow.number).where(*mine)).all()
    if found:
        session.execute(update(TrayRow).where(*mine).values(taster="", note=""))
    return len(found)


def set_version(
    session: Session, comparison_id: str, number: int, version: int, tokens: tuple[str, str]
) -> None:
    """Another card for the tray: its old token and code open nothing any more."""
    row = _row(session, comparison_id, number)
    row.version = version
    for name, word in _hashes(*tokens).items():
        setattr(row, name, word)
    session.flush()


def counts(session: Session, comparison_id: str) -> dict[str, Counter[CardStanding]]:
    """Sitting to how many of its trays are in which standing."""
    question = (
        select(TrayRow.sitting, TrayRow.standing, func.count())
        .where(TrayRow.comparison == comparison_id)
        .group_by(TrayRow.sitting, TrayRow.standing)
    )
    found: dict[str, Counter[CardStanding]] = defaultdict(Counter)
    for sitting, standing, count in session.execute(question):
        found[sitting][standing] = count
    return dict(found)


def _hashes(token: str, short_code: str) -> dict[str, str]:
    return {
        "token_hash": token_hash(token),
        "short_hash": short_hash(short_code),
        "ref": ref_of(token),
    }


def _row(session: Session, comparison_id: str, number: int) -> TrayRow:
    return session.get_one(TrayRow, (comparison_id, number))


def _found(session: Session, *conditions: ColumnElement[bool]) -> tuple[FoundTray, ...]:
    """Trays with their cups by two questions, however many there are."""
    cups: dict[tuple[str, int], list[Cup]] = defaultdict(list)
    cup_rows = (
        select(CupRow.comparison, CupRow.tray, CupRow.position, CupRow.code)
        .join(
            TrayRow,
            (TrayRow.comparison == CupRow.comparison) & (TrayRow.number == CupRow.tray),
        )
        .where(*conditions)
        .order_by(CupRow.position)
    )
    for comparison, number, position, code in session.execute(cup_rows):
        cups[comparison, number].append(Cup(position, code))
    rows = (
        select(*TrayRow.__table__.c).where(*conditions).order_by(TrayRow.comparison, TrayRow.number)
    )
    return tuple(
        FoundTray(row.comparison, row.ref, _tray(row, tuple(cups[row.comparison, row.number])))
        for row in session.execute(rows)
    )


def _tray(row: Row[Any], cups: tuple[Cup, ...]) -> Tray:
    return Tray(
        number=row.number,
        sitting=row.sitting,
        wave=row.wave,
        place=row.place,
        cups=cups,
        spare=row.spare,
        standing=row.standing,
        reason=row.reason,
        note=row.note,
        taster=row.taster,
        version=row.version,
        handed_out=row.handed_out,
    )
