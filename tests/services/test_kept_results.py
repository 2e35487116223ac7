"""A result is reckoned once for all who look, and anew after anything that was done."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from panel.core.comparison import Comparison
from panel.core.errors import PanelError
from panel.core.paper.payload import ref_of
from panel.services import (
    close_and_unseal,
    open_sitting,
    publish,
    seal_comparison,
    settle_ballots,
    show_result,
    sitting_counts,
    take_ballot,
)
from panel.services.kept_results import MOST, KeptResults
from panel.services.workplace import NOBODY, Workplace
from panel.store import ballots as ballots_store
from tests.builders import ORGANISER, answers, serving, token, trays, workplace
from tests.store.values import comparison

WORDS = "smells of my own cellar"


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as there:
        yield there


@pytest.fixture
def reckoned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The comparisons whose result was reckoned, one entry each time."""
    done: list[str] = []
    real = show_result.opened_of

    def noted(session: Any, known: Comparison) -> Any:
        done.append(known.id)
        return real(session, known)

    monkeypatch.setattr(show_result, "opened_of", noted)
    return done


def closed(at: Workplace) -> Comparison:
    """Four of the trays answered, one handed out to Robin, whose words are kept, closed."""
    known = serving(at)
    mine = trays(at, known)
    for tray in mine[:4]:
        ref = ref_of(token(at, known, tray))
        given = {**answers(known, tray), **({"words": (WORDS,)} if tray is mine[0] else {})}
        take_ballot.take_phone(at, ref, given, f"{tray.number:032}")
    open_sitting.name_taster(at, ORGANISER, known.id, mine[0].number, "Robin")
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    return close_and_unseal.close(at, ORGANISER, known.id)


def test_a_result_is_reckoned_once_for_every_page_of_it(at: Workplace, reckoned: list[str]) -> None:
    known = closed(at)
    first = show_result.article(at, ORGANISER, known.id, str)
    assert show_result.article(at, ORGANISER, known.id, str) == first
    show_result.report(at, ORGANISER, known.id)
    assert len(reckoned) == 1
    publish.publish(at, ORGANISER, known.id)
    with ThreadPoolExecutor(4) as hall:
        pages = set(hall.map(lambda _: show_result.public_article(at, known.slug, str), range(8)))
    show_result.public_summary(at, known.slug, str)
    assert len(pages) == 1
    assert len(reckoned) == 2


def test_whatever_is_done_meanwhile_is_on_the_page(at: Workplace, reckoned: list[str]) -> None:
    known = closed(at)
    before = show_result.article(at, ORGANISER, known.id, str)
    late = trays(at, known)[5]
    ref = ref_of(token(at, known, late))
    take_ballot.take_phone(at, ref, answers(known, late), "k" * 32)
    after = show_result.article(at, ORGANISER, known.id, str)
    seal_comparison.amend(at, ORGANISER, known.id, "the glasses", "the wrong ones were washed")
    amended = show_result.article(at, ORGANISER, known.id, str)
    assert len(reckoned) == len({before, after, amended}) == 3
    assert "the wrong ones were washed" in amended


def test_what_is_kept_opens_no_door(at: Workplace) -> None:
    """Who may see it is asked each time, before what is kept."""
    known = closed(at)
    show_result.article(at, ORGANISER, known.id, str)
    for refused in (
        lambda: show_result.article(at, NOBODY, known.id, str),
        lambda: show_result.public_article(at, known.slug, str),
    ):
        with pytest.raises(PanelError):
            refused()


def test_nothing_of_a_taster_is_kept(at: Workplace) -> None:
    known = closed(at)
    show_result.article(at, ORGANISER, known.id, str)
    assert known.id in str(at.results._kept)
    assert "Robin" not in str(at.results._kept)
    with at.units.read() as session:
        every = ballots_store.every_revision(session, known.id)
    assert [one.answers["words"] for one in every if "words" in one.answers] == [(WORDS,)]
    assert WORDS not in str(at.results._kept)


def test_no_more_are_kept_than_so_many_and_a_refusal_is_none() -> None:
    kept: KeptResults[str] = KeptResults()
    for place in range(MOST + 1):
        kept.of(comparison(f"c{place}"), "end", lambda place=place: f"r{place}")
    assert kept.of(comparison("c1"), "end", lambda: "anew") == "r1"
    assert kept.of(comparison("c0"), "end", lambda: "anew") == "anew"
    with pytest.raises(ZeroDivisionError):
        kept.of(comparison("c1"), "another end", lambda: str(1 / 0))
    assert kept.of(comparison("c1"), "another end", lambda: "r1 anew") == "r1 anew"
    assert kept.of(comparison("c1", title="Other"), "another end", lambda: "other") == "other"


def test_counts_say_what_the_board_says(at: Workplace) -> None:
    """By questions that load no tray, and for the organiser alone."""
    known = closed(at)
    late = trays(at, known)[5]
    ref = ref_of(token(at, known, late))
    take_ballot.take_phone(at, ref, answers(known, late), "k" * 32)
    other = serving(at)
    open_sitting.hand_out(at, ORGANISER, other.id, trays(at, other)[0].number)
    for one, ballots, came_late, out in ((known, 4, 1, 0), (other, 0, 0, 1)):
        sitting = one.sittings[0].id
        board = open_sitting.board(at, ORGANISER, one.id, sitting)
        (count,) = sitting_counts.sitting_counts(at, ORGANISER, one.id)
        assert sitting_counts.sitting_count(at, ORGANISER, one.id, sitting) == count
        assert (count.ballots, count.late, count.out) == (ballots, came_late, out)
        assert (board.ballots, board.late, board.out) == (ballots, came_late, out)
        assert (board.sitting, board.in_question) == (count.sitting, count.in_question)
    with pytest.raises(PanelError):
        sitting_counts.sitting_counts(at, NOBODY, known.id)
