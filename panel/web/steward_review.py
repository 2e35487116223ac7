"""Cards that were read from pictures, looked at one by one: the picture, what was read, a decision.

Codes and marks only, as on the paper. Every decision goes in by the one door, as the card's
scanned copy; leaving a card open writes no ballot.
"""

from base64 import b64encode
from dataclasses import dataclass, replace
from typing import Any

from flask import Blueprint, jsonify, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import Decision, KeptReading, PlaceRead, ReadingStanding
from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.core.methods import method_named
from panel.core.paper.card_parts import PlaceKind
from panel.core.questions import Question
from panel.core.reconcile import Copy
from panel.services import open_sitting, review_cards
from panel.services.review_cards import Pile, Review
from panel.web.answers import answers_in, fields_of, in_words, is_code
from panel.web.cards_in import doubts_of
from panel.web.forms import FRESH, Typed, refill
from panel.web.guards import actor
from panel.web.language import spoken
from panel.web.place import at

pages = Blueprint(
    "steward_review", __name__, url_prefix="/steward/<id:comparison>/<id:sitting>/review"
)

BECAME: dict[ReadingStanding, Message] = {
    ReadingStanding.TAKEN: say("taken as it was read"),
    ReadingStanding.SAME: say("says what is in already"),
    ReadingStanding.IN_QUESTION: say("in, and differs from another copy"),
    ReadingStanding.WAITING: say("to be looked at"),
    ReadingStanding.DECIDED: say("decided by hand"),
    ReadingStanding.LEFT_OPEN: say("left open"),
    ReadingStanding.REFUSED: say("refused"),
}
MADE_UP_FOR = say("made up for since")
DONE: dict[Decision, Message] = {
    Decision.AS_READ: say("Card %(card)s is in as it was read."),
    Decision.OTHERWISE: say("Card %(card)s is in as you keyed it."),
    Decision.LEFT_OPEN: say("Card %(card)s is left open."),
}
QUESTIONED = say("Card %(card)s differs from its ballot by another way: the organiser settles it.")


def became(reading: KeptReading, waits: bool) -> Message:
    """What became of a reading, in words."""
    made_up = reading.standing is ReadingStanding.WAITING and not waits
    return MADE_UP_FOR if made_up else BECAME[reading.standing]


@pages.get("")
def every(comparison: str, sitting: str) -> ResponseReturnValue:
    """What was read so far, newest first, and the way to the cards that wait."""
    board = open_sitting.board(at(), actor(), comparison, sitting)
    pile = review_cards.pile_of(at(), actor(), comparison, sitting)
    return render_template(
        "steward/review.html",
        board=board,
        pile=pile,
        became=became,
        card_number=card_number,
        done=_done(pile),
    )


def show_card(typed: Typed, comparison: str, sitting: str, number: int) -> str:
    """One card: its picture, what was read, and the form that decides."""
    board = open_sitting.board(at(), actor(), comparison, sitting)
    review = _as_it_will_be(review_cards.review(at(), actor(), comparison, sitting, number))
    reading = review.reading
    doubtful = _doubtful(review)
    return render_template(
        "steward/review_card.html",
        board=board,
        review=review,
        typed=typed if typed.sent else _begun(typed, review),
        picture=_data(reading.read.picture),
        measured=_measured(review),
        doubts=tuple(doubts_of(reading, review.questions)),
        first=[one for one in review.questions if one.id in doubtful],
        rest=[one for one in review.questions if one.id not in doubtful],
        references=method_named(board.comparison.plan.method).references,
        in_words=in_words,
        is_code=is_code,
        became=became(reading, number in review.pile.waiting),
        waits=number in review.pile.waiting,
        key=at().entropy(16).hex(),
        done=_done(review.pile),
        residual=None if (off := reading.read.residual) is None else _number(off, 2),
    )


def _as_it_will_be(review: Review) -> Review:
    """Fetched ahead while another card is looked at: with that one out of the pile."""
    ahead = request.args.get("ahead", "")
    waiting = tuple(one for one in review.pile.waiting if str(one) != ahead)
    return replace(review, pile=replace(review.pile, waiting=waiting))


def _begun(fresh: Typed, review: Review) -> Typed:
    return replace(fresh, words=fields_of(review.shown, review.questions))


@pages.get("/<int:number>")
def card(comparison: str, sitting: str, number: int) -> ResponseReturnValue:
    """One card as it was read."""
    return show_card(FRESH, comparison, sitting, number)


@pages.post("/<int:number>")
@refill(show_card)
def decide(comparison: str, sitting: str, number: int) -> ResponseReturnValue:
    """Takes the decision, and goes on to the next card that waits."""
    words = request.form.get("decision", "")
    if words not in set(Decision):
        raise PanelError("no-decision", say("Choose what this card says, or leave it open."))
    decision = Decision(words)
    receipt = review_cards.decide(
        at(),
        actor(),
        comparison,
        sitting,
        number,
        decision,
        answers_in(request.form),
        request.form.get("key", ""),
    )
    pile = review_cards.pile_of(at(), actor(), comparison, sitting)
    onward = pile.after(number)
    page = ".every" if onward is None else ".card"
    here: dict[str, Any] = {"comparison": comparison, "sitting": sitting, "number": onward}
    copy = receipt.copy.value if receipt else ""
    address = url_for(page, **here, done=number, what=str(decision), copy=copy or None)
    if request.form.get("by") != "script":
        return redirect(address)
    done = " ".join(spoken(one) for one in _said(pile, str(number), str(decision), copy))
    question = copy == Copy.QUESTION.value
    return jsonify(onward=url_for(page, **here), address=address, done=done, question=question)


def _done(pile: Pile) -> tuple[Message, ...]:
    """What became of the card before this one, from the page's own address."""
    return _said(pile, *(request.args.get(name, "") for name in ("done", "what", "copy")))


def _said(pile: Pile, number: str, what: str, copy: str) -> tuple[Message, ...]:
    """What became of a reading by a decision."""
    before = next((one for one in pile.readings if str(one.number) == number), None)
    if before is None or what not in set(Decision):
        return ()
    said = QUESTIONED if copy == Copy.QUESTION.value else DONE[Decision(what)]
    return (say(said.id, card=card_number(before.tray)),)


def _data(picture: bytes | None) -> str:
    return f"data:image/jpeg;base64,{b64encode(picture).decode()}" if picture else ""


def _doubtful(review: Review) -> set[str]:
    """The questions that stand first: those in doubt; the deciding one if it is the whole card."""
    found = {one.question for one in review.reading.read.open if one.question}
    return found or {review.deciding}


@dataclass(frozen=True)
class Measured:
    """A place on the card as it is listed: its question, what it stands for, what was found."""

    question: Message
    stands_for: tuple[Message | str, ...]
    found: Message
    place: PlaceRead

    @property
    def numbers(self) -> tuple[Message, ...]:
        """Cover, depth, what surrounds it, and the strength of its outline."""
        one = self.place
        shares = (_number(share, 2) for share in (one.cover, one.depth, one.band))
        return (*shares, _number(one.outline, 1))


def _number(value: float, digits: int) -> Message:
    return say("%(value)s", value=Number(value, digits))


FOUND: dict[str, Message] = {
    "empty": say("empty"),
    "unsure": say("unsure"),
    "marked": say("marked"),
}
SQUARE = say("small square")
"""What is filled to take a ring back."""


def _measured(review: Review) -> tuple[Measured, ...]:
    asked = {one.id: one for one in review.questions}
    return tuple(
        Measured(
            asked[one.question].short,
            _stands_for(asked[one.question], one, review),
            FOUND[one.state],
            one,
        )
        for one in review.reading.read.places
        if one.question in asked
    )


def _stands_for(question: Question, place: PlaceRead, review: Review) -> tuple[Message | str, ...]:
    codes = review.tray.codes()
    code = codes[place.position - 1] if 0 < place.position <= len(codes) else ""
    value = in_words(question, (place.value,)) if place.value else ()
    square = (SQUARE,) if place.kind != PlaceKind.MARK else ()
    return (*((code,) if code else ()), *value, *square)
