"""Every method's card and every shape of question, on every size of card: printed, rasterised,
marked, photographed, read, and accepted at the ballot's own door."""

from zlib import crc32

import numpy as np
import pytest

from panel.core.ballot import check_answers
from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.names import Channel
from panel.core.paper.card import deciding_question
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.questions import OrderCups, PickCups, ScalePerCup, Words, YesNoPerCup
from panel.scanning import read_page
from tests.scanning.corpus.axes import scan, tidy
from tests.scanning.corpus.ballots import Taster, drawn, filled
from tests.scanning.corpus.cards import (
    CASES,
    EVERY_METHOD_CASE,
    METHOD_CASES,
    Case,
    layout_of,
    printed,
)
from tests.scanning.corpus.damage import damaged


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_a_card_marked_as_told_becomes_the_ballot_that_was_meant(case: Case):
    seed = crc32(case.name.encode())  # so that a method added elsewhere changes none of these
    rng = np.random.default_rng(seed)
    card = printed(case)[seed % 2]
    ballot = filled(card.known, rng, Taster.TOLD)
    how = (scan, tidy)[seed // 2 % 2](rng)
    picture = damaged(drawn(card, ballot.hands, rng), rng, how)
    (reading,) = read_page(picture, lambda text: {card.text: card.known}.get(text))
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
        assert decided >= shapes, format
    assert {case.name for case in METHOD_CASES} >= {f"{method} on a5" for method in METHODS}
    for case in EVERY_METHOD_CASE:
        if case not in METHOD_CASES:
            with pytest.raises(PanelError, match=r"Print a larger card|[Aa]sk less"):
                layout_of(case)
    assert any(isinstance(one, Words) for case in CASES.values() for one in case.questions)
    for method in ("triangle", "duo-trio", "tetrad"):
        assert f"{method} nose first on a6" in CASES
