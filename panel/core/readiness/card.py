"""An obstacle in the ballot: whether any card of the sittings' paper holds its questions."""

from collections.abc import Iterator

from panel.core.comparison import Comparison
from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import card_formats
from panel.core.readiness.obstacle import Obstacle
from panel.core.side_questions import ballot_questions


def of_card(comparison: Comparison) -> Iterator[Obstacle]:
    """What is printed has to fit before the plan is locked: afterwards nothing can be left out."""
    plan = comparison.plan
    method = METHODS.get(plan.method)
    if method is None or not method.orders(plan):
        return
    questions = ballot_questions(method, plan)
    for paper in dict.fromkeys(sitting.paper for sitting in comparison.sittings):
        refused: PanelError | None = None
        for card in card_formats(paper):
            if card.large_print:
                continue
            try:
                card_layout(questions, method.cups_of(plan), method.references, card)
            except PanelError as refusal:
                refused = refusal
            else:
                refused = None
                break
        if refused is not None:
            yield Obstacle(field="ask_words", message=refused.message)
            return
