"""A trial of the reader on real cards: pictures against a sheet of what people see on the cards.

Nothing is written: no ballot, no reading, no line of the record.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy.orm import Session

from panel import scanning
from panel.core.allocation.check_letter import card_number, parse_card_number
from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message
from panel.core.methods import method_named
from panel.core.paper.card import card_layout
from panel.core.reader_trial import CardScore, CardSeen, score_card, seen_on_card
from panel.services.ballot_door import questions_of
from panel.services.ballot_sheet import CARD, SheetRow, placed, require_once, sheet_rows, words_of
from panel.services.plan_comparison import existing
from panel.services.read_cards import candidates, fitting, served_by_code
from panel.services.take_ballot import Serving, serving_by_number
from panel.services.workplace import Actor, Workplace

MARKS = "marks"
"""A column that a sheet of a trial may have besides: how the card was marked, in one's own word."""

Seen = Mapping[int, CardSeen]
"""Tray number to what people see on its card."""


@dataclass(frozen=True, kw_only=True)
class ScoredCard:
    """One card of one page. `score`: None for a card that is not on the sheet, and for a code that
    belongs to no card here, whose `card` is "". `doubts`: why it, or part of it, is put before a
    person."""

    card: str
    number: int | None
    score: CardScore | None
    doubts: tuple[Message, ...]


@dataclass(frozen=True)
class ScoredPage:
    """One page of a file, counted from 1, of how many."""

    number: int
    pages: int
    cards: tuple[ScoredCard, ...]


def seen_of(at: Workplace, actor: Actor, comparison_id: str, data: bytes) -> Seen:
    """What a sheet says of each of its cards. PanelError if it is no such sheet; RefusalsError with
    every row and column that is not right."""
    actor.require_organiser()
    with at.units.read() as session:
        questions = questions_of(existing(session, comparison_id).plan)
        rows = sheet_rows(data, questions, also=(MARKS,))
        seen: dict[int, CardSeen] = {}
        first: dict[int, int] = {}
        refusals: list[PanelError] = []
        for row in rows:
            try:
                number = parse_card_number(row.cells[CARD])
                require_once(first.setdefault(number, row.number), row.number, number)
                seen[number] = _seen(session, actor, comparison_id, number, row)
            except PanelError as refusal:
                refusals += placed(row, refusal)
    if refusals:
        raise RefusalsError(tuple(refusals))
    return seen


def _seen(
    session: Session, actor: Actor, comparison_id: str, number: int, row: SheetRow
) -> CardSeen:
    serving = serving_by_number(session, actor, comparison_id, number)
    noted = {one.id: words_of(row.cells.get(one.id, ""), one) for one in serving.questions}
    method = method_named(serving.comparison.plan.method)
    smallest = fitting(serving)[0]  # the places are the same on every size of card
    layout = card_layout(
        serving.questions,
        method.cups_of(serving.comparison.plan),
        method.references,
        smallest,
    )
    marks = row.cells.get(MARKS, "").strip()
    return seen_on_card(serving.questions, serving.tray.codes(), layout.places, noted, marks)


def score_file(
    at: Workplace, actor: Actor, comparison_id: str, seen: Seen, data: bytes
) -> Iterator[ScoredPage]:
    """The cards of a file against what people see on them, page by page. PanelError where the file
    is none that can be read."""
    actor.require_organiser()
    for page in scanning.read_file(data, candidates(at, actor, comparison_id)):
        cards = tuple(_scored(at, seen, card) for card in page.cards)
        yield ScoredPage(page.number, page.pages, cards)


def _scored(at: Workplace, seen: Seen, card: scanning.ReadOnPage) -> ScoredCard:
    doubts = tuple(dict.fromkeys(one.message for one in card.read.open))
    serving: Serving | None = None
    if card.read.number:
        with at.units.read() as session:
            serving = served_by_code(session, card.text)
    if serving is None:
        return ScoredCard(card="", number=None, score=None, doubts=doubts)
    number = serving.tray.number
    known = seen.get(number)
    score = None if known is None else score_card(known, card.read)
    return ScoredCard(card=card_number(number), number=number, score=score, doubts=doubts)
