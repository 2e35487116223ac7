"""A sitting that will not take place: closed without ballots, recorded, told in the result."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from panel.core.comparison import Comparison, Tray
from panel.core.errors import Fault, PanelError
from panel.core.names import CardStanding, Reason, Role, SittingStanding, Standing
from panel.core.paper.payload import ref_of
from panel.services import (
    close_and_unseal,
    open_sitting,
    plan_comparison,
    publish,
    seal_comparison,
    settle_ballots,
    show_result,
    take_ballot,
)
from panel.services.call_off import call_off
from panel.services.workplace import Actor, Workplace
from panel.store import records
from tests.builders import ORGANISER, answers, draft, sitting_draft, token, workplace


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance") as place:
        yield place


@pytest.fixture
def two(at: Workplace) -> Comparison:
    """A sealed comparison of two blinded sittings."""
    plan = replace(draft().plan, join_sittings=True)
    known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan), sitting_draft("First"))
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft("Second"))
    return seal_comparison.seal(at, ORGANISER, known.id)


def trays_of(at: Workplace, known: Comparison, place: int) -> tuple[Tray, ...]:
    return open_sitting.board(at, ORGANISER, known.id, known.sittings[place].id).trays


def again(at: Workplace, known: Comparison) -> Comparison:
    return plan_comparison.comparison(at, ORGANISER, known.id)


def held(at: Workplace, known: Comparison) -> None:
    """The first sitting from opening to closing, six ballots."""
    first = known.sittings[0].id
    open_sitting.open_sitting(at, ORGANISER, known.id, first)
    for tray in trays_of(at, known, 0)[:6]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k")
    open_sitting.close_sitting(at, ORGANISER, known.id, first)


def test_the_rest_is_closed_and_published_without_it(
    at: Workplace, two: Comparison, tmp_path: Path
) -> None:
    held(at, two)
    second = two.sittings[1].id
    assert "say that it will not take place" in str(
        close_and_unseal.still_open(at, ORGANISER, two.id)[0]
    )
    ended = call_off(at, ORGANISER, two.id, second)
    assert ended.not_held
    assert again(at, two).sittings[1] == ended
    assert {(tray.standing, tray.reason) for tray in trays_of(at, two, 1)} == {
        (CardStanding.SET_ASIDE, Reason.NEVER_USED)
    }
    with at.units.read() as session:
        line = records.last(session, two.id)
        assert line is not None
        assert (line.what, line.subject) == ("sitting-called-off", second)
        assert '"never_used":12' in line.detail
    settle_ballots.set_aside_rest(at, ORGANISER, two.id)
    close_and_unseal.close(at, ORGANISER, two.id)
    publish.publish(at, ORGANISER, two.id)
    show_result.publish_static(at, ORGANISER, two.id, tmp_path / "out")
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert page.count("not held; planned for 14 March 2027") == 1


def test_a_sitting_that_was_opened_took_place(at: Workplace, two: Comparison) -> None:
    held(at, two)
    with pytest.raises(PanelError, match="it took place") as refusal:
        call_off(at, ORGANISER, two.id, two.sittings[0].id)
    assert refusal.value.fault is Fault.STANDING
    assert not again(at, two).sittings[0].not_held


def test_its_cards_take_no_ballot_that_counts_and_it_is_never_opened(
    at: Workplace, two: Comparison
) -> None:
    second = two.sittings[1].id
    call_off(at, ORGANISER, two.id, second)
    assert again(at, two).standing is Standing.SEALED  # the first is still to come
    with pytest.raises(PanelError, match="opened already"):
        open_sitting.open_sitting(at, ORGANISER, two.id, second)
    with pytest.raises(PanelError, match="it took place"):
        call_off(at, ORGANISER, two.id, second)
    open_sitting.open_sitting(at, ORGANISER, two.id, two.sittings[0].id)
    tray = trays_of(at, two, 1)[0]
    take_ballot.take_phone(at, ref_of(token(at, two, tray)), answers(two, tray), "k")
    board = open_sitting.board(at, ORGANISER, two.id, second)
    assert (board.returned, board.late) == (0, 1)


def test_a_tray_set_aside_before_keeps_its_reason(at: Workplace, two: Comparison) -> None:
    tray = trays_of(at, two, 1)[0]
    open_sitting.set_aside(at, ORGANISER, two.id, tray.number, Reason.SPILLED)
    call_off(at, ORGANISER, two.id, two.sittings[1].id)
    kept = trays_of(at, two, 1)[0]
    assert kept.reason is Reason.SPILLED


def test_an_evening_of_which_nothing_took_place_can_still_be_closed(
    at: Workplace, two: Comparison
) -> None:
    for sitting in two.sittings:
        call_off(at, ORGANISER, two.id, sitting.id)
    assert again(at, two).standing is Standing.SERVING
    assert close_and_unseal.close(at, ORGANISER, two.id).standing is Standing.CLOSED


def test_only_organisers_after_sealing(at: Workplace, two: Comparison) -> None:
    second = two.sittings[1].id
    with pytest.raises(PanelError, match="Only an organiser"):
        call_off(at, Actor(Role.STEWARD, "carrier00001"), two.id, second)
    fresh = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    with pytest.raises(PanelError, match="Take it out of the draft"):
        call_off(at, ORGANISER, fresh.id, fresh.sittings[0].id)
    assert again(at, two).sittings[1].standing is SittingStanding.PREPARED
