"""Who saw the key is read off the record: every way to see it, what was done after, and no more."""

from datetime import datetime, timedelta

import pytest

from panel.core.deeds import Deed
from panel.core.names import Role
from panel.core.record import Record, next_record
from panel.core.sight_of_key import Seen, Sighted, sighted_from, sighted_of, sighted_words
from panel.core.wording.sight import say_sighted
from tests.results import NOON

Line = tuple[Role, str, Deed, dict[str, int | str | bool | None]]


def record(*lines: Line) -> tuple[Record, ...]:
    """A chain with a line each minute."""
    chain: list[Record] = []
    for minute, (role, who, deed, detail) in enumerate(lines):
        last = chain[-1] if chain else None
        at = NOON + timedelta(minutes=minute)
        chain.append(
            next_record(last, "c", at, role=role, who=who, what=deed, subject="1", detail=detail)
        )
    return tuple(chain)


ROBIN = (Role.ORGANISER, "person000001")
ALEX = (Role.ORGANISER, "person000002")
PRINTED: Line = (*ROBIN, Deed.KEY_PRINTED, {"sheet": "pour-mats"})
SETTLED: Line = (*ROBIN, Deed.QUESTION_SETTLED, {})
ASIDE: Line = (*ROBIN, Deed.SET_ASIDE, {"reason": "spilled"})
KEYED: Line = (*ROBIN, Deed.BALLOT_TAKEN, {"channel": "keyed", "revision": 1})


def at(minute: int) -> datetime:
    return NOON + timedelta(minutes=minute)


def test_what_is_decided_after_seeing_is_counted_and_what_came_before_is_not():
    (robin,) = sighted_of(record(SETTLED, ASIDE, PRINTED, SETTLED, SETTLED, ASIDE, KEYED))
    assert robin == Sighted(
        role=Role.ORGANISER,
        number=0,
        seen=(Seen("pour-mats", at(2)),),
        settled=2,
        set_aside=1,
        keyed=1,
    )
    assert robin.judged == 3


@pytest.mark.parametrize(
    ("deed", "detail", "what"),
    [
        (Deed.KEY_PRINTED, {"sheet": "sealed-key"}, "sealed-key"),
        (Deed.KEY_SHOWN, {}, "screen"),
        (Deed.KEY_RECOVERED, {}, "envelope"),
    ],
)
def test_every_way_to_see_it(deed, detail, what):
    (robin,) = sighted_of(record((*ROBIN, deed, detail)))
    assert robin.seen == (Seen(what, NOON),)


def test_a_way_is_told_once_with_its_first_time():
    (robin,) = sighted_of(record(PRINTED, (*ROBIN, Deed.KEY_SHOWN, {}), PRINTED))
    assert robin.seen == (Seen("pour-mats", at(0)), Seen("screen", at(1)))


def test_what_others_decide_is_theirs():
    people = sighted_of(record(PRINTED, (*ALEX, Deed.QUESTION_SETTLED, {})))
    assert [(one.number, one.judged) for one in people] == [(0, 0)]


def test_people_of_one_role_are_numbered_and_nobody_is_named():
    looked: Line = (*ALEX, Deed.KEY_SHOWN, {})
    people = sighted_of(record(PRINTED, looked))
    assert [one.number for one in people] == [1, 2]
    said = " ".join(map(str, say_sighted(people, "Europe/London")))
    assert "Organiser 1 printed the pour mats on" in said
    assert "Organiser 2 looked at the pour mats on a screen" in said
    assert "person0000" not in said + str(sighted_words(people))


def test_after_closing_everybody_may_look():
    closed: Line = (*ROBIN, Deed.CLOSED, {})
    assert sighted_of(record(closed, PRINTED, SETTLED)) == ()


def test_an_emergency_shows_one_tray_and_a_tasters_own_answer_is_none():
    opened: Line = (*ROBIN, Deed.TRAY_REVEALED, {"emergency": True})
    own: Line = (Role.TASTER, "0123456789abcdef", Deed.TRAY_REVEALED, {})
    (robin,) = sighted_of(record(own, opened, SETTLED))
    assert (robin.trays, robin.seen, robin.judged) == (1, (), 0)


def test_a_phones_ballot_is_not_keyed_by_anybody():
    phone: Line = (*ROBIN, Deed.BALLOT_TAKEN, {"channel": "phone", "revision": 1})
    (robin,) = sighted_of(record(PRINTED, phone))
    assert robin.keyed == 0


def test_what_is_said():
    people = sighted_of(record(PRINTED, SETTLED, SETTLED, ASIDE))
    assert list(map(str, say_sighted(people, "UTC"))) == [
        "The organiser printed the pour mats on 2026-03-14 12:00 UTC (UTC).",
        "The organiser settled 2 questions between copies of ballots afterwards.",
        "The organiser set one tray aside, or took that back, afterwards.",
    ]
    assert "nobody looked at the key" in str(say_sighted((), "UTC")[0])
    assert "nobody who had seen it settled" in str(
        say_sighted(sighted_of(record(PRINTED)), "UTC")[-1]
    )


def test_words_come_back_to_the_second():
    people = sighted_of(record(PRINTED, SETTLED))
    assert sighted_from(sighted_words(people)) == people
