"""Ballots from a spreadsheet: the same checks as a keyed card, and all of a file or nothing.

A CSV file in UTF-8, comma or semicolon between its columns. The first line names them: `card`, and
the ids of the plan's questions. A cell holds an answer's words with a space between: "482",
"482 719", "482:yes 719:no"; free words stand as they are.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel.core.allocation.check_letter import card_number, parse_card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, say
from panel.core.names import Channel
from panel.core.questions import Answer, Question, Words
from panel.services import ballot_door
from panel.services.ballot_door import Receipt, questions_of
from panel.services.plan_comparison import existing
from panel.services.take_ballot import served_tray, serving_by_number
from panel.services.workplace import Actor, Workplace

CARD = "card"
MOST_BYTES = 1_000_000
MOST_ROWS = 5_000
MOST_TOLD = 20
"""Refusals that are listed at once."""


@dataclass(frozen=True)
class _Row:
    """One line of the file, counted as a spreadsheet counts: the names stand in row 1."""

    number: int
    cells: Mapping[str, str]


def enter_ballots(
    at: Workplace, actor: Actor, comparison_id: str, data: bytes
) -> tuple[Receipt, ...]:
    """Takes every ballot of a file, or none: what became of each, in the file's order.

    PanelError if it is no such file; RefusalsError with a reason for every row and column that
    cannot be taken, `field` naming the place ("3 odd").
    """
    rows = tuple(_rows(_text(data)))
    with at.units.begin() as session:
        questions = questions_of(existing(session, comparison_id).plan)
        _require_columns(rows[0].cells, questions)
        return _taken(session, at, actor, comparison_id, rows, questions)


def _taken(
    session: Session,
    at: Workplace,
    actor: Actor,
    comparison_id: str,
    rows: tuple[_Row, ...],
    questions: tuple[Question, ...],
) -> tuple[Receipt, ...]:
    """A refusal ends the transaction, and with it the rows before."""
    receipts: list[Receipt] = []
    refusals: list[PanelError] = []
    first: dict[int, int] = {}
    for row in rows:
        try:
            number = parse_card_number(row.cells[CARD])
            _require_once(first.setdefault(number, row.number), row.number, number)
            serving = serving_by_number(session, actor, comparison_id, number)
            given = _answers(row, questions)
            served = served_tray(serving)
            receipts.append(
                ballot_door.take(session, at, actor, served, Channel.IMPORTED, given, "")
            )
        except PanelError as refusal:
            refusals += _placed(row, refusal)
        if len(refusals) >= MOST_TOLD:
            break
    if refusals:
        raise RefusalsError(tuple(refusals))
    return tuple(receipts)


def _placed(row: _Row, refusal: PanelError) -> Iterator[PanelError]:
    """The same with row and column."""
    every = refusal.refusals if isinstance(refusal, RefusalsError) else (refusal,)
    for one in every:
        column = one.field or CARD
        said = say(
            "Row %(row)s, column %(column)s: %(why)s",
            row=row.number, column=column, why=one.message,
        )  # fmt: skip
        yield PanelError(one.code, said, one.fault, f"{row.number} {column}")


def _answers(row: _Row, questions: tuple[Question, ...]) -> dict[str, Answer]:
    given: dict[str, Answer] = {}
    for question in questions:
        cell = row.cells.get(question.id, "").strip()
        if cell:
            given[question.id] = (cell,) if isinstance(question, Words) else tuple(cell.split())
    return given


def _require_once(first: int, here: int, number: int) -> None:
    if first != here:
        raise PanelError(
            "card-twice",
            say(
                "Card %(card)s stands in row %(row)s already. Keep the row that is right.",
                card=card_number(number), row=first,
            ),
            field=CARD,
        )  # fmt: skip


# --- the file ------------------------------------------------------------------------------------


def _text(data: bytes) -> str:
    if len(data) > MOST_BYTES:
        raise _not_so("file-too-large", say("The file is too large: at most 1 MB, please."))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _not_so(
            "not-utf-8", say("The file is not in UTF-8. Save it as “CSV UTF-8”.")
        ) from None


def _rows(text: str) -> Iterator[_Row]:
    names = text.split("\n", 1)[0]
    delimiter = ";" if names.count(";") > names.count(",") else ","
    lines = csv.reader(text.splitlines(), delimiter=delimiter, strict=True)
    try:
        header = [name.strip().lower() for name in next(lines, [])]
        rows = [(line, number) for number, line in enumerate(lines, start=2) if any(line)]
    except csv.Error:
        raise _not_so(
            "not-csv", say("A quotation mark is left open in row %(row)s.", row=lines.line_num)
        ) from None
    if not rows:
        raise _not_so("no-rows", say("There is no ballot in the file: one row each, below names."))
    if len(rows) > MOST_ROWS:
        raise _not_so("too-many-rows", say("At most %(most)s rows, please.", most=MOST_ROWS))
    if len(set(header)) < len(header):
        raise _not_so("column-twice", say("Two columns have the same name in row 1."))
    for line, number in rows:
        if len(line) != len(header):
            raise _not_so(
                "cells",
                say(
                    "Row %(row)s has %(cells)s cells, row 1 has %(names)s.",
                    row=number, cells=len(line), names=len(header),
                ),
            )  # fmt: skip
        yield _Row(number, dict(zip(header, line, strict=True)))


def _require_columns(names: Mapping[str, str], questions: tuple[Question, ...]) -> None:
    known = {CARD, *(question.id for question in questions)}
    strange = sorted(set(names) - known)
    if CARD not in names or strange:
        raise _not_so(
            "columns",
            say(
                "Row 1 has to name the columns: %(known)s. It has: %(here)s.",
                known=", ".join([CARD, *(question.id for question in questions)]),
                here=", ".join(name or "–" for name in names),
            ),
        )


def _not_so(code: str, message: Message) -> PanelError:
    return PanelError(code, message, field="file")
