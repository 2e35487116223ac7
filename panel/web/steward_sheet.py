"""Ballots from a spreadsheet: an empty sheet to take away, and a filled one to hand in, whole or
not at all. What could not be taken comes back as text that can be put right on the page."""

from typing import Any

from flask import Blueprint, Response, g, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.message import Message, say, say_n
from panel.core.methods import method_named
from panel.core.questions import Choice, Option, Question
from panel.core.reconcile import Copy
from panel.core.side_questions import ballot_questions
from panel.services import open_sitting
from panel.services.ballot_sheet import CARD, cell_hint, sheet_text
from panel.services.enter_ballots import MOST_TOLD, Entered, empty_sheet_of, enter_ballots
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.place import at

pages = Blueprint(
    "steward_sheet", __name__, url_prefix="/steward/<id:comparison>/<id:sitting>/sheet"
)

MOST_SHOWN = 200_000
"""Characters of a sheet that are put into the page again."""
COUNTED = ("taken", "same", "question", "late", "empty")
"""What the page's address counts after a sheet was taken."""


def show_sheet(typed: Typed, comparison: str, sitting: str) -> str:
    """The form, what may stand in which column, and what of the last sheet was not right."""
    board = open_sitting.board(at(), actor(), comparison, sitting)
    plan = board.comparison.plan
    questions = ballot_questions(method_named(plan.method), plan)
    rows = g.get("sheet", "") or typed.value("rows")
    return render_template(
        "steward/sheet.html",
        board=board,
        typed=typed,
        card=CARD,
        columns=[(one, cell_hint(one)) for one in questions],
        options=options_of,
        rows=rows if len(rows) <= MOST_SHOWN else "",
        most_told=MOST_TOLD,
        done=_done(),
    )


def options_of(question: Question) -> tuple[Option, ...]:
    """What a list offers; () for a question of another shape."""
    return question.options if isinstance(question, Choice) else ()


@pages.get("")
def page(comparison: str, sitting: str) -> ResponseReturnValue:
    """An empty form."""
    return show_sheet(FRESH, comparison, sitting)


@pages.get("/empty.csv")
def empty(comparison: str, sitting: str) -> ResponseReturnValue:
    """A sheet with this comparison's columns and a row for each card of the sitting."""
    sheet = empty_sheet_of(at(), actor(), comparison, (sitting,))
    name = {"Content-Disposition": 'attachment; filename="ballots.csv"'}
    return Response(sheet, mimetype="text/csv", headers=name)


@pages.post("")
@refill(show_sheet)
def take(comparison: str, sitting: str) -> ResponseReturnValue:
    """Takes every ballot of a sheet, or none: the file, else the rows that were pasted."""
    open_sitting.board(at(), actor(), comparison, sitting)
    entered = enter_ballots(at(), actor(), comparison, _sheet())
    here: dict[str, Any] = {"comparison": comparison, "sitting": sitting, **_counts(entered)}
    return redirect(url_for(".page", **here))


def _sheet() -> bytes:
    file = request.files.get("sheet")
    if file is None or not file.filename:
        return request.form.get("rows", "").encode("utf-8", "replace")
    with file.stream:
        data = bytes(file.read())
    g.sheet = sheet_text(data)
    return data


def _counts(entered: Entered) -> dict[str, int]:
    copies = [one.copy for one in entered.receipts]
    same, question = copies.count(Copy.SAME), copies.count(Copy.QUESTION)
    late = sum(one.late for one in entered.receipts)
    found = (len(copies) - same, same, question, late, entered.without_answers)
    return dict(zip(COUNTED, found, strict=True))


def _done() -> tuple[Message, ...]:
    """What became of the last sheet, from the page's own address."""
    given = [request.args.get(name, "") for name in COUNTED]
    if not all(one.isascii() and one.isdigit() and len(one) < 6 for one in given):
        return ()
    taken, same, question, late, empty_rows = map(int, given)
    said = [say_n("%(count)s ballot is in.", "%(count)s ballots are in.", count=taken)]
    if same:
        said.append(say_n("%(count)s was in already.", "%(count)s were in already.", count=same))
    if question:
        said.append(
            say_n(
                "%(count)s differs from the ballot that came by another way: the organiser "
                "settles it, without the key.",
                "%(count)s differ from ballots that came by another way: the organiser settles "
                "them, without the key.",
                count=question,
            )
        )
    if late:
        said.append(say("%(count)s came after closing: listed, not counted.", count=late))
    if empty_rows:
        said.append(
            say_n(
                "%(count)s row holds a card’s number alone and was passed over.",
                "%(count)s rows hold a card’s number alone and were passed over.",
                count=empty_rows,
            )
        )
    return tuple(said)
