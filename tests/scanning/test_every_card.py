"""Every method's card and every shape of question, on every size of card: printed, rasterised,
marked, photographed, read, and accepted at the ballot's own door."""

import numpy as np
import pytest

from panel.core.ballot import check_answers
from panel.core.methods import METHODS
from panel.core.names import Channel
from panel.core.paper.card import deciding_question
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.questions import OrderCups, PickCups, ScalePerCup, Words, YesNoPerCup
from panel.scanning import read_page
from tests.scanning.corpus.ballots import drawn, filled
from tests.scanning.corpus.cards import CASES, Case, printed
from tests.scanning.corpus.damage import SCAN, TIDY, damaged


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_a_card_marked_as_told_becomes_the_ballot_that_was_meant(case: Case):
    for seed, how in ((4000, SCAN), (4001, TIDY)):
        rng = np.random.default_rng(seed + 2 * list(CASES).index(case.name))
        card = printed(case)[seed % 2]
        ballot = filled(card.known, rng, messy=False)
        picture = damaged(drawn(card, ballot.hands, rng), rng, how)
        (reading,) = read_page(picture, lambda text, card=card: {card.text: card.known}.get(text))
        assert reading.open == ()
        assert reading.answers == ballot.meant
        assert (reading.text, reading.number) == (card.text, card.known.number)
        deciding = deciding_question(case.questions)
        accepted = check_answers(
            case.questions, card.known.codes, reading.answers, deciding.id, Channel.SCANNED
        )
        assert accepted == ballot.meant


def test_the_cases_are_all_methods_all_shapes_all_cards():
    shapes = {PickCups, YesNoPerCup, ScalePerCup, OrderCups}
    for format in CARD_FORMATS:
        on_it = [case for case in CASES.values() if case.format == format]
        decided = {type(deciding_question(case.questions)) for case in on_it}
        assert decided == shapes, format
        assert {case.name.split(" on ")[0] for case in on_it} >= set(METHODS) - {"ranking"}
    assert any(isinstance(one, Words) for case in CASES.values() for one in case.questions)
