"""Ballots: every revision is kept, one counts, and a form sent twice is known."""

from datetime import timedelta

import pytest
from sqlalchemy import text

from panel.core.errors import PanelError
from panel.core.names import Channel
from panel.store import ballots, comparisons, trays
from tests.store.values import NOON, ballot, comparison, sitting, tokens, tray, with_trays


def test_revisions_are_numbered_and_all_kept(units):
    second = ballot(1, "401", channel=Channel.KEYED, received=NOON + timedelta(minutes=1))
    with units.begin() as session:
        with_trays(session, 2)
        assert ballots.add(session, "comparison01", ballot(1)).revision == 1
        assert ballots.add(session, "comparison01", second).revision == 2
        assert ballots.add(session, "comparison01", ballot(2, revision=9)).revision == 1
    with units.read() as session:
        first, last = ballots.revisions(session, "comparison01", 1)
        assert ballots.latest(session, "comparison01", 1) == last
        assert ballots.latest(session, "comparison01", 3) is None
        assert len(ballots.every_revision(session, "comparison01")) == 3
    assert first == ballot(1)
    assert last.answers == {"knew": ("nothing",), "odd": ("401",)}
    assert (last.revision, last.channel, last.received) == (2, Channel.KEYED, second.received)


def test_answers_keep_their_words_and_order(units):
    given = {"order": ("719", "482", "356"), "words": ("Überall Würze — 3 “stars”",), "odd": ()}
    with units.begin() as session:
        with_trays(session, 1)
        ballots.add(session, "comparison01", ballot(1, answers=given))
    with units.read() as session:
        assert ballots.latest(session, "comparison01", 1).answers == given


def test_late_ballots_are_listed_and_are_nobodys_latest(units):
    with units.begin() as session:
        with_trays(session, 3)
        ballots.add(session, "comparison01", ballot(1))
        ballots.add(session, "comparison01", ballot(1, "401", late=True))
        ballots.add(session, "comparison01", ballot(2, late=True))
    with units.read() as session:
        assert ballots.latest(session, "comparison01", 1).revision == 1
        assert ballots.latest(session, "comparison01", 2) is None
        assert set(ballots.of_comparison(session, "comparison01")) == {1}
        assert [one.tray for one in ballots.late(session, "comparison01")] == [1, 2]
        assert ballots.count_by_sitting(session, "comparison01") == {"comparison01-s": 1}
        assert ballots.trays_with_ballot(session, "comparison01") == {1, 2}


def test_a_key_is_known_again_on_its_tray_only(units):
    with units.begin() as session:
        with_trays(session, 2)
        kept = ballots.add(session, "comparison01", ballot(1), "key-1")
        ballots.add(session, "comparison01", ballot(2), "key-1")
        ballots.add(session, "comparison01", ballot(1), None)
        ballots.add(session, "comparison01", ballot(1), None)
    with units.read() as session:
        first, *others = ballots.kept(session, "comparison01", 1)
        assert (first.ballot, first.key) == (kept, "key-1")
        assert [one.key for one in others] == [None, None]
    with pytest.raises(PanelError) as refusal, units.begin() as session:
        ballots.add(session, "comparison01", ballot(1), "key-1")
    assert refusal.value.code == "clash"


def test_a_ballot_of_a_tray_that_is_not_there_is_refused(units):
    with units.begin() as session:
        with_trays(session, 1)
    with pytest.raises(PanelError), units.begin() as session:
        ballots.add(session, "comparison01", ballot(2))


def test_one_ballot_a_tray_counts(units):
    with units.begin() as session:
        with_trays(session, 3)
        for number in (1, 1, 2, 3):
            ballots.add(session, "comparison01", ballot(number))
        ballots.mark_all_counted(session, "comparison01", {1: 1, 2: 1})
        ballots.mark_counted(session, "comparison01", 1, 2)
        ballots.mark_counted(session, "comparison01", 2, None)
    with units.read() as session:
        counted = ballots.counted(session, "comparison01")
    assert {number: one.revision for number, one in counted.items()} == {1: 2}


def test_the_database_refuses_two_counted_ballots_of_a_tray(units):
    with units.begin() as session:
        with_trays(session, 1)
        ballots.add(session, "comparison01", ballot(1))
        ballots.add(session, "comparison01", ballot(1))
    for marks in ("counted = 1", "counted = revision"):
        with pytest.raises(PanelError), units.begin() as session:
            session.execute(text(f"UPDATE ballot SET {marks}"))


def test_ballots_are_counted_by_sitting(units):
    with units.begin() as session:
        two = (sitting("sitting00001"), sitting("sitting00002"))
        comparisons.add(session, comparison(sittings=two))
        many = [tray(1, "sitting00001"), tray(2, "sitting00002"), tray(3, "sitting00002")]
        trays.add_many(session, "comparison01", many, tokens(many))
        for number in (1, 2, 3, 3):
            ballots.add(session, "comparison01", ballot(number))
    with units.read() as session:
        counts = ballots.count_by_sitting(session, "comparison01")
    assert counts == {"sitting00001": 1, "sitting00002": 2}


def test_a_comparisons_ballots_are_its_own_and_take_two_questions(units, statements):
    with units.begin() as session:
        for name in ("comparison01", "comparison02"):
            with_trays(session, 100, name)
            for number in range(1, 101):
                ballots.add(session, name, ballot(number))
            ballots.add(session, name, ballot(7, "407"))
        ballots.add(session, "comparison02", ballot(8, "408"))
    with units.read() as session, statements() as asked:
        found = ballots.of_comparison(session, "comparison01")
    assert len(asked) == 2
    assert sorted(found) == list(range(1, 101))
    assert found[7].answers["odd"] == ("407",)
    assert found[8].answers["odd"] == ("108",)
    assert {one.revision for number, one in found.items() if number != 7} == {1}


def test_free_words_are_erased_and_the_rest_stays(units):
    spoken = {"odd": ("101",), "words": ("Quillfeather poured mine",)}
    with units.begin() as session:
        with_trays(session, 2)
        ballots.add(session, "comparison01", ballot(1, answers=spoken))
        ballots.add(session, "comparison01", ballot(2))
        assert ballots.erase_words(session, "comparison01", ["words"]) == 1
    with units.read() as session:
        assert ballots.latest(session, "comparison01", 1).answers == {"odd": ("101",)}
