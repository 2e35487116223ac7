"""One's own answer where it is no choice of cups: what was said, and whether it was true."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.methods import method_named
from panel.core.names import Outcome
from panel.core.paper.payload import ref_of
from panel.core.possible_answers import possible_answers
from panel.services import (
    close_and_unseal,
    open_sitting,
    own_result,
    publish,
    settle_ballots,
    take_ballot,
)
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, answers, serving, token, trays, workplace
from tests.kinds import DETECTION


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as found:
        yield found


@pytest.mark.parametrize("method", DETECTION)
def test_what_was_said_stands_beside_what_it_was(at: Workplace, method: str) -> None:
    known = serving(at, method)
    asked = method_named(method).decides(known.plan)
    voted = trays(at, known)[:6]
    said = {}
    for place, tray in enumerate(voted):
        ways = list(possible_answers(asked, tray.codes()))
        said[tray.number] = ways[place % len(ways)]
        given = answers(known, tray) | {asked.id: said[tray.number]}
        card = card_number(tray.number)
        take_ballot.take_keyed(at, ORGANISER, known.id, card, given, "")
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id, anyway=True)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    publish.publish(at, ORGANISER, known.id)
    seen = set()
    for tray in voted:
        own = own_result.own_result(at, ref_of(token(at, known, tray)))
        assert own is not None
        beers = "".join(cup.beer for cup in own.cups)
        if method == "same-different":
            (word,) = said[tray.number]
            assert str(own.called) == {"same": "the same", "different": "different"}[word]
            true = (beers[0] != beers[1]) is (word == "different")
        else:
            called = {cup.code: str(cup.called) for cup in own.cups if cup.called}
            true = all(
                (cup.beer == "A") is (called[cup.code] == "A")
                for cup in own.cups
                if cup.code in called
            )
            assert own.cups[0].called is None  # the known cup is not asked about
            assert len(called) == len(own.cups) - 1
        assert own.outcome is (Outcome.RIGHT if true else Outcome.WRONG)
        seen.add(own.outcome)
    assert seen == {Outcome.RIGHT, Outcome.WRONG}
