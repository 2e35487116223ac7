"""Cards photographed or scanned: a plain file field, so that it works over http on any phone."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flask import Blueprint, render_template, request
from flask.typing import ResponseReturnValue
from werkzeug.datastructures import FileStorage

from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.core.methods import method_named
from panel.core.reconcile import Copy
from panel.core.side_questions import ballot_questions
from panel.services import open_sitting, review_cards
from panel.services.read_cards import Before, PageRead, ReadCard, read_cards
from panel.web.cards_in import cards_in
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.place import at
from panel.web.steward import ELSEWHERE, SAVED

pages = Blueprint(
    "steward_photos", __name__, url_prefix="/steward/<id:comparison>/<id:sitting>/photos"
)

MOST_FILES = 20
ROWS = "rows"
"""The field `part` of a form that a script sends."""


@dataclass(frozen=True)
class Shown:
    """One line of what came of the pictures: what to say, and what to look at if anything. `told`:
    the list of cards does not say it all. `page`: within the picture, 0 if it has but one."""

    where: str
    messages: tuple[Message, ...]
    card: str = ""
    fine: bool = False
    keyable: bool = False
    reading: int | None = None
    told: bool = True
    page: int = 0


def show_photos(typed: Typed, comparison: str, sitting: str, shown: tuple[Shown, ...] = ()) -> str:
    """The fields for pictures, the cards that are in, and what came of the last pictures. A script
    that sends one picture at a time gets what has changed alone."""
    board = open_sitting.board(at(), actor(), comparison, sitting)
    pile = review_cards.pile_of(at(), actor(), comparison, sitting)
    plan = board.comparison.plan
    cards = cards_in(pile, ballot_questions(method_named(plan.method), plan))
    alone = request.form.get("part") == ROWS and not typed.sent
    return render_template(
        "steward/photo_rows.html" if alone else "steward/photos.html",
        typed=typed,
        board=board,
        pile=pile,
        cards=cards,
        shown=shown,
        ids={"comparison": comparison, "sitting": sitting},
    )


@pages.get("")
def page(comparison: str, sitting: str) -> ResponseReturnValue:
    """An empty field."""
    return show_photos(FRESH, comparison, sitting)


@pages.post("")
@refill(show_photos)
def take(comparison: str, sitting: str) -> ResponseReturnValue:
    """Reads the pictures; a reload reads them again, which counts nothing twice."""
    files = [file for file in request.files.getlist("pictures") if file.filename]
    if not files:
        raise PanelError(
            "no-picture", say("Choose a picture of one card or more."), field="pictures"
        )
    if len(files) > MOST_FILES:
        raise PanelError(
            "too-many-pictures",
            say("At most %(most)s pictures at once, please.", most=MOST_FILES),
            field="pictures",
        )
    shown: list[Shown] = []
    for number, file in enumerate(files, start=1):
        try:
            for read in read_cards(at(), actor(), comparison, _content(file)):
                shown += _lines(number, read, sitting)
        except PanelError as refusal:
            shown.append(Shown(str(number), (refusal.message,)))
    return show_photos(FRESH, comparison, sitting, tuple(shown))


def _content(file: FileStorage) -> bytes:
    with file.stream:
        return bytes(file.read())


def _lines(picture: int, read: PageRead, sitting: str) -> Iterator[Shown]:
    where = str(picture) if read.pages == 1 else f"{picture}, {read.number}"
    page = 0 if read.pages == 1 else read.number
    if not read.cards:
        yield Shown(
            where,
            (
                say(
                    "No card was found here. Lay it flat, fill the picture with it, and take it "
                    "again in better light."
                ),
            ),
            page=page,
        )
    for card in read.cards:
        yield replace(_line(where, card, sitting), page=page)


def _line(where: str, card: ReadCard, sitting: str) -> Shown:
    elsewhere = (ELSEWHERE,) if card.sitting not in ("", sitting) else ()
    listed = card.reading is not None and not elsewhere
    if card.receipt is None:
        before = (IN_ALREADY[card.before],) if card.before else ()
        done = card.before in NOTHING_TO_DO
        return Shown(
            where,
            (*card.doubts, *before, *elsewhere),
            card.card,
            fine=done,
            keyable=bool(card.card) and not done and not card.refused,
            reading=None if elsewhere else card.reading,
            told=not listed or card.before in (Before.DIFFERS, Before.OPEN),
        )
    said = say(SAVED[card.receipt.copy].id, card=card.card)
    late = (LATE,) if card.receipt.late else ()
    fine = not card.receipt.late and card.receipt.copy is not Copy.QUESTION
    return Shown(
        where, (said, *late, *elsewhere), card.card, fine=fine, told=not listed or not fine
    )


NOTHING_TO_DO = (Before.AGREES, Before.EMPTY, Before.DECIDED)
IN_ALREADY: dict[Before, Message] = {
    Before.AGREES: say(
        "Its ballot is in already, and what can be read here says the same: nothing is left to do."
    ),
    Before.EMPTY: say("Its ballot is in already: nothing is left to do."),
    Before.DECIDED: say("Somebody has looked at this picture already: nothing is left to do."),
    Before.DIFFERS: say(
        "Its ballot is in already, and what can be read here says something else. Look at the "
        "card, and key it in as it stands: the organiser settles it, without the key."
    ),
    Before.OPEN: say(
        "Its ballot is in already; whether this card agrees cannot be read. Look at the card, and "
        "key it in as it stands: if the two differ, the organiser settles it."
    ),
}
LATE = say("It came after the sitting had closed: it is listed and not counted.")
