"""Readings of cards: kept with their picture beside the ballots, looked up, decided, erased."""

from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import text

from panel.core.card_reading import (
    Came,
    CardRead,
    Decision,
    KeptReading,
    OpenPoint,
    PlaceRead,
    ReadingStanding,
)
from panel.core.errors import PanelError
from panel.core.message import Number, say, say_n
from panel.core.names import Channel, Role
from panel.store import ballots, readings
from tests.store.values import NOON, ballot, with_trays

OF = "comparison01"
PLACE = PlaceRead(
    question="odd", position=2, value="", kind="mark", state="unsure", doubt="little",
    cover=0.12, depth=0.5, band=0.03, outline=7.5, box=(10.5, 20.0, 25.0, 25.0),
)  # fmt: skip
BENT = say("The card is too bent (%(off)s mm). %(next)s", off=Number(1.7),
           next=say_n("One cup.", "%(count)s cups.", count=3))  # fmt: skip


def reading(tray: int = 1, page: int = 1, **changes: object) -> KeptReading:
    whole = KeptReading(
        number=0,
        tray=tray,
        came=Came(channel=Channel.SCANNED, file_hash="ab" * 32, page=page),
        read_at=NOON,
        read=CardRead(
            number="1 C",
            answers={"knew": ("nothing",)},
            open=(OpenPoint(question="odd", reason="unsure", message=BENT, places=(0,)),),
            places=(PLACE,),
            corner_marks=4,
            residual=0.31,
            contrast=0.8,
            outlines=11.2,
            version="abc",
            picture=b"\xff\xd8\xff card",
        ),
        picture_hash="cd" * 32,
        standing=ReadingStanding.WAITING,
    )
    return replace(whole, **changes)


def test_a_reading_comes_back_as_it_was_kept(units):
    with units.begin() as session:
        with_trays(session, 2)
        first = readings.add(session, OF, reading())
        second = readings.add(session, OF, reading(2, reason=say("Not now.")))
    assert (first.number, second.number) == (1, 2)
    with units.read() as session:
        assert readings.load(session, OF, 1) == first
        assert readings.load(session, OF, 2) == second
        assert readings.load(session, OF, 3) is None
        assert str(readings.load(session, OF, 1).read.open[0].message) == str(BENT)


def test_lists_leave_the_pictures_where_they_are(units, statements):
    with units.begin() as session:
        with_trays(session, 2)
        for tray in (1, 2, 1):
            readings.add(session, OF, reading(tray))
    with units.read() as session, statements() as asked:
        found = readings.of_trays(session, OF, [1])
    assert [one.number for one in found] == [1, 3]
    assert [one.read.picture for one in found] == [None, None]
    assert not any("reading.picture," in one for one in asked)


def test_the_same_page_of_the_same_file_is_known_again(units):
    other = Came(channel=Channel.SCANNED, file_hash="ab" * 32, page=2)
    with units.begin() as session:
        with_trays(session, 2)
        kept = readings.add(session, OF, reading())
        assert readings.again(session, OF, 1, kept.came).number == 1
        assert readings.again(session, OF, 2, kept.came) is None
        assert readings.again(session, OF, 1, other) is None


def test_what_a_person_decides_is_noted(units):
    later = NOON + timedelta(minutes=3)
    with units.begin() as session:
        with_trays(session, 1)
        readings.add(session, OF, reading())
        readings.settle(
            session, OF, 1, standing=ReadingStanding.DECIDED, revision=1,
            decision=Decision.OTHERWISE, role=Role.STEWARD, person="pass00000001", now=later,
        )  # fmt: skip
    with units.read() as session:
        kept = readings.load(session, OF, 1)
    assert (kept.standing, kept.revision, kept.decision) == ("decided", 1, "otherwise")
    assert (kept.decided_role, kept.decided_by, kept.decided_at) == (
        Role.STEWARD, "pass00000001", later,
    )  # fmt: skip


def test_pictures_are_erased_and_what_was_read_stays(units):
    with units.begin() as session:
        with_trays(session, 2)
        for tray in (1, 2):
            readings.add(session, OF, reading(tray))
    with units.begin() as session:
        assert readings.erase_pictures(session, OF, 1) == 1
        assert readings.erase_pictures(session, OF, 1) == 0
    with units.read() as session:
        first, second = (readings.load(session, OF, number) for number in (1, 2))
    assert first.read.picture is None
    assert first.read.places == (PLACE,)
    assert second.read.picture is not None
    with units.begin() as session:
        assert readings.erase_pictures(session, OF) == 1


def test_the_last_ballot_from_paper_is_dated_and_phones_are_not_asked(units):
    with units.begin() as session:
        with_trays(session, 2)
        later = NOON + timedelta(minutes=5)
        ballots.add(session, OF, ballot(1, channel=Channel.KEYED, received=NOON))
        ballots.add(session, OF, ballot(1, channel=Channel.SCANNED, received=later))
        ballots.add(session, OF, ballot(2, channel=Channel.PHONE, received=later))
        assert readings.put_on_paper(session, OF) == {1: later}


@pytest.mark.parametrize("wrong", ["page = 0", "picture_hash = 'x'", "tray = 99"])
def test_the_database_refuses_what_cannot_be(units, wrong):
    with units.begin() as session:
        with_trays(session, 1)
        readings.add(session, OF, reading())
    with pytest.raises(PanelError), units.begin() as session:
        session.execute(text(f"UPDATE reading SET {wrong}"))
