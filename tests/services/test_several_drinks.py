"""Evenings of several drinks from draft to bundle: played, keyed from a spreadsheet, looked at."""

import tomllib
from collections import Counter
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from panel.cli.demo import EVENT
from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.names import Outcome
from panel.core.paper.payload import ref_of
from panel.services import (
    check_published,
    close_and_unseal,
    enter_ballots,
    open_sitting,
    own_result,
    play_event,
    publish,
    settle_ballots,
    show_result,
    tally,
)
from panel.services.sealed_key import unwrap
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, serving, token, trays, workplace


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as place:
        yield place


def event(
    drinks: int, cups: int = 0, expected_order: str = "", tell: float = 0.6
) -> dict[str, Any]:
    """The invented evening with other drinks; who tells ranks them as their letters go."""
    facts = tomllib.loads(EVENT.read_text(encoding="utf-8"))
    facts["comparison"] |= {
        "title": "Which saison do we like best?",
        "neutral_title": "Saisons, spring batch",
        "variable": "yeast strain",
    }
    facts["beers"] = [
        {"letter": letter, "name": name, "value": f"Y{letter}", "abv": "5.1"}
        for letter, name in zip(
            "ABCDEFGH"[:drinks], ("Alder", "Birch", "Cedar", "Damson", "Elder", "Fir"), strict=False
        )
    ]
    facts["plan"] |= {
        "method": "ranking",
        "aim": "preference",
        "sides": 2,
        "pd": "0.5",
        "drinks": drinks,
        "cups": cups,
        "expected_order": expected_order,
    }
    facts["sittings"] = [facts["sittings"][0] | {"tell": tell}]
    return facts


@pytest.mark.parametrize(("drinks", "cups", "order"), [(4, 0, ""), (6, 3, ""), (3, 0, "ABC")])
def test_an_evening_goes_to_a_bundle_that_holds(
    at: Workplace, drinks: int, cups: int, order: str
) -> None:
    known = play_event.play(at, ORGANISER, event(drinks, cups, order))
    lines = check_published.check(show_result.public_bundle(at, known.slug), "")
    assert [str(line.message) for line in lines if not line.holds] == []
    page = show_result.public_article(at, known.slug, str)
    assert "blinded tasters put the cups in order" in page
    assert "no difference" not in page.lower()
    assert "Alder" in page


def test_over_a_whole_set_every_two_drinks_meet_equally_often(at: Workplace) -> None:
    known = play_event.play(at, ORGANISER, event(6, 3))
    with at.units.read() as session:
        key = unwrap(session, at, known.id).key
    planned = [key[number] for number in range(1, 25)]
    together = Counter(pair for tray in planned for pair in combinations(sorted(tray), 2))
    assert len(together) == 15  # 24 of 30 trays: as near to 2 in 10 as can be
    assert max(together.values()) - min(together.values()) <= 3


def test_a_spreadsheet_and_ones_own_order(at: Workplace) -> None:
    known = serving(at, "ranking")
    lines = ["card,order,knew"]
    for tray in trays(at, known)[:6]:
        lines.append(f"{card_number(tray.number)},{' '.join(reversed(tray.codes()))},nothing")
    taken = enter_ballots.enter_ballots(at, ORGANISER, known.id, "\n".join(lines).encode())
    assert len(taken.receipts) == 6
    closed = _closed(at, known)
    tray = trays(at, closed)[0]
    own = own_result.own_result(at, ref_of(token(at, closed, tray)))
    assert own.outcome is Outcome.PLACED
    assert [cup.place for cup in own.cups] == [3, 2, 1]
    with at.units.read() as session:
        key = unwrap(session, at, known.id).key
    (finding,) = tally.findings(at, ORGANISER, known.id).result.findings
    expected = {
        letter: sum(3 - key[tray.number].index(letter) for tray in trays(at, closed)[:6])
        for letter in "ABC"
    }
    assert dict(zip(finding.test.drinks, finding.test.sums, strict=True)) == expected


def _closed(at: Workplace, known: Comparison) -> Comparison:
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    return publish.publish(at, ORGANISER, known.id)
