"""Ballots from a spreadsheet: the same checks as a keyed card, and all of a file or nothing."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import parse_card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.names import Channel
from panel.core.questions import Question
from panel.services import ballot_door
from panel.services.ballot_door import Receipt, questions_of
from panel.services.ballot_sheet import (
    CARD,
    SheetRow,
    empty_sheet,
    placed,
    require_once,
    sheet_rows,
    words_of,
)
from panel.services.plan_comparison import existing
from panel.services.take_ballot import served_tray, serving_by_number
from panel.services.workplace import Actor, Workplace
from panel.store import trays as trays_store

MOST_TOLD = 20
"""Refusals that are listed at once."""


@dataclass(frozen=True)
class Entered:
    """What became of each ballot, in the file's order, and how many rows had nothing but a card's
    number and were passed over."""

    receipts: tuple[Receipt, ...]
    without_answers: int


def enter_ballots(at: Workplace, actor: Actor, comparison_id: str, data: bytes) -> Entered:
    """Takes every ballot of a file, or none.

    PanelError if it is no such file; RefusalsError with a reason for every row and column that
    cannot be taken, `field` naming the place ("3 odd").
    """
    with at.units.begin() as session:
        questions = questions_of(existing(session, comparison_id).plan)
        rows = sheet_rows(data, questions)
        filled = tuple(row for row in rows if not row.only_card)
        receipts = _taken(session, at, actor, comparison_id, filled, questions)
        return Entered(receipts, len(rows) - len(filled))


def empty_sheet_of(
    at: Workplace, actor: Actor, comparison_id: str, sittings: Iterable[str]
) -> bytes:
    """A sheet to fill in: the columns of this comparison, and a row for each card of these
    sittings (ids)."""
    with at.units.read() as session:
        known = existing(session, comparison_id)
        numbers: list[int] = []
        for sitting in sittings:
            actor.require_serving(comparison_id, sitting)
            trays = trays_store.of_sitting(session, comparison_id, sitting)
            numbers += sorted(tray.number for tray in trays)
    return empty_sheet(numbers, questions_of(known.plan))


def _taken(
    session: Session,
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    rows: tuple[SheetRow, ...],
    questions: tuple[Question, ...],
) -> tuple[Receipt, ...]:
    """A refusal ends the transaction, and with it the rows before."""
    receipts: list[Receipt] = []
    refusals: list[PanelError] = []
    first: dict[int, int] = {}
    for row in rows:
        try:
            number = parse_card_number(row.cells[CARD])
            require_once(first.setdefault(number, row.number), row.number, number)
            served = served_tray(serving_by_number(session, actor, comparison_id, number))
            given = {one.id: words_of(row.cells.get(one.id, ""), one) for one in questions}
            given = {name: answer for name, answer in given.items() if answer}
            receipts.append(
                ballot_door.take(session, at, actor, served, Channel.IMPORTED, given, "")
            )
        except PanelError as refusal:
            refusals += placed(row, refusal)
        if len(refusals) >= MOST_TOLD:
            break
    if refusals:
        raise RefusalsError(tuple(refusals))
    return tuple(receipts)
