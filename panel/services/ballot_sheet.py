"""A sheet of ballots: a row for each card, a column for each question, as spreadsheets keep it.

A CSV file in UTF-8; comma, semicolon or tab between its columns, so that cells copied from a
spreadsheet are a sheet as well. The first row names them: `card`, and the ids of the plan's
questions. A cell holds an answer's words with a space or a stroke between: "482", "482 719",
"482/719", "482:yes 719:no"; free words stand as they are.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from panel.core.allocation.check_letter import card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, say
from panel.core.questions import (
    Answer,
    Choice,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)
from panel.publishing.bundle_tables import disarmed

CARD = "card"
MOST_BYTES = 1_000_000
MOST_ROWS = 5_000

_BETWEEN = re.compile(r"[\s,;/+]+")
"""Between the words of a cell. A stroke helps where "482 719" would be taken for one number."""


@dataclass(frozen=True)
class SheetRow:
    """One row, counted as a spreadsheet counts: the names stand in row 1."""

    number: int
    cells: Mapping[str, str]

    @property
    def only_card(self) -> bool:
        """Whether nothing stands in it but the card's number."""
        return not any(cell.strip() for name, cell in self.cells.items() if name != CARD)


def sheet_rows(
    data: bytes, questions: tuple[Question, ...], also: tuple[str, ...] = ()
) -> tuple[SheetRow, ...]:
    """The rows of a file; PanelError if it is no such sheet. also: further names of columns."""
    rows = tuple(_rows(sheet_text(data)))
    _require_columns(rows[0].cells, (CARD, *(question.id for question in questions)), also)
    return rows


def words_of(cell: str, question: Question) -> Answer:
    """The words of a cell; () for an empty one."""
    cell = cell.strip()
    if not cell:
        return ()
    return (cell,) if isinstance(question, Words) else tuple(filter(None, _BETWEEN.split(cell)))


def empty_sheet(cards: Iterable[int], questions: tuple[Question, ...]) -> bytes:
    """A sheet with the columns of these questions and a row for each card, by its number."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(disarmed(name) for name in (CARD, *(question.id for question in questions)))
    for number in cards:
        writer.writerow([disarmed(card_number(number)), *("" for _ in questions)])
    return text.getvalue().encode("utf-8-sig")  # the mark by which spreadsheets know UTF-8


def cell_hint(question: Question) -> Message:
    """What may stand in a question's cell, for whoever fills the sheet in."""
    match question:
        case PickCups(pick=1, no_choice=None):
            return say("the code of the cup that was chosen")
        case PickCups(pick=1):
            return say("the code of the cup that was chosen, or none")
        case PickCups():
            return say("the codes that were chosen, such as 482 719")
        case YesNoPerCup():
            return say("yes or no behind each code, such as 482:yes 719:no")
        case ScalePerCup(points=points):
            return say(
                "a number up to %(points)s behind each code, such as 482:3 719:1", points=points
            )
        case OrderCups():
            return say("all codes in order, such as 482 719 356")
        case Choice(several=True):
            return say("one or several of these, with a space between")
        case Choice():
            return say("one of these")
        case Words():
            return say("words as they stand on the card")


def placed(row: SheetRow, refusal: PanelError) -> Iterator[PanelError]:
    """The same refusal with row and column, `field` naming the place ("3 odd")."""
    every = refusal.refusals if isinstance(refusal, RefusalsError) else (refusal,)
    for one in every:
        column = one.field or CARD
        said = say(
            "Row %(row)s, column %(column)s: %(why)s",
            row=row.number, column=column, why=one.message,
        )  # fmt: skip
        yield PanelError(one.code, said, one.fault, f"{row.number} {column}")


def require_once(first: int, here: int, number: int) -> None:
    """PanelError if a card stands in two rows."""
    if first != here:
        raise PanelError(
            "card-twice",
            say(
                "Card %(card)s stands in row %(row)s already. Keep the row that is right.",
                card=card_number(number), row=first,
            ),
            field=CARD,
        )  # fmt: skip


def sheet_text(data: bytes) -> str:
    """The text of a file; PanelError if it is too large or not in UTF-8."""
    if len(data) > MOST_BYTES:
        raise _not_so("file-too-large", say("The file is too large: at most 1 MB, please."))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _not_so(
            "not-utf-8", say("The file is not in UTF-8. Save it as “CSV UTF-8”.")
        ) from None


def _rows(text: str) -> Iterator[SheetRow]:
    names = text.split("\n", 1)[0]
    delimiter = max((",", ";", "\t"), key=names.count)
    whole = io.StringIO(text, newline="")  # a cell of several lines keeps them apart
    lines = csv.reader(whole, delimiter=delimiter, strict=True)
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
        yield SheetRow(number, dict(zip(header, line, strict=True)))


def _require_columns(
    here: Mapping[str, str], names: tuple[str, ...], also: tuple[str, ...]
) -> None:
    if CARD not in here or set(here) - {*names, *also}:
        raise _not_so(
            "columns",
            say(
                "Row 1 has to name the columns: %(known)s. It has: %(here)s.",
                known=", ".join((*names, *also)),
                here=", ".join(name or "–" for name in here),
            ),
        )


def _not_so(code: str, message: Message) -> PanelError:
    return PanelError(code, message, field="file")
