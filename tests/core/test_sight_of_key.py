"""Who saw the key is read off the record: every way to see it, what was done after, and no more."""

from datetime import datetime, timedelta

import pytest

from panel.core.deeds import OF_ONE_TRAY, Deed
from panel.core.names import Role
from panel.core.record import Record, next_record
from panel.core.sight_of_key import Seen, Sighted, sighted_from, sighted_of, sighted_words
from panel.core.wording.sight import say_sighted
from tests.results import NOON

Line = tuple[Role, str, Deed, dict[str, int | str | bool | None]]


def record(*lines: Line, subjects: dict[int, str] | None = None) -> tuple[Record, ...]:
    """A chain with a line each minute; what is not of a tray is of the sitting "blue". subjects:
    by place in the chain, where another is wanted."""
    chain: list[Record] = []
    for minute, (role, who, deed, detail) in enumerate(lines):
        last = chain[-1] if chain else None
        at = NOON + timedelta(minutes=minute)
        subject = (subjects or {}).get(minute, "1" if deed in OF_ONE_TRAY else "blue")
        chain.append(
            next_record(
                last, "c", at, role=role, who=who, what=deed, subject=subject, detail=detail
            )
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
        seen=(Seen("pour-mats", at(2), "blue"),),
        settled=2,
        set_aside=1,
        keyed=1,
    )
    assert robin.judged == 4


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
    whole = what in ("sealed-key", "envelope")
    assert robin.seen == (Seen(what, NOON, "" if whole else "blue"),)


def test_a_way_is_told_once_with_its_first_time():
    (robin,) = sighted_of(record(PRINTED, (*ROBIN, Deed.KEY_SHOWN, {}), PRINTED))
    assert robin.seen == (Seen("pour-mats", at(0), "blue"), Seen("screen", at(1), "blue"))


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
        "The organiser set one tray aside afterwards.",
    ]
    assert "nobody looked at the key" in str(say_sighted((), "UTC")[0])
    assert "nobody who had seen it settled" in str(
        say_sighted(sighted_of(record(PRINTED)), "UTC")[-1]
    )


def test_where_there_are_several_sittings_each_is_named():
    looked: Line = (*ROBIN, Deed.KEY_SHOWN, {})
    people = sighted_of(record(PRINTED, looked, looked, subjects={2: "red"}))
    said = list(map(str, say_sighted(people, "UTC", {"blue": "Blue", "red": "Red"})))
    assert said[:3] == [
        "The organiser printed the pour mats of “Blue” on 2026-03-14 12:00 UTC (UTC).",
        "The organiser looked at the pour mats of “Blue” on a screen on 2026-03-14 12:01 UTC "
        "(UTC).",
        "The organiser looked at the pour mats of “Red” on a screen on 2026-03-14 12:02 UTC (UTC).",
    ]
    assert str(say_sighted(people, "UTC")[1]).count("on a screen") == 1
    assert len(say_sighted(people, "UTC")) == 3  # without names, each way once, with its first time


def test_words_come_back_to_the_second():
    people = sighted_of(record(PRINTED, SETTLED))
    assert sighted_from(sighted_words(people)) == people


HANDED: Line = (*ROBIN, Deed.HANDED_OUT, {})
BACK: Line = (*ROBIN, Deed.TAKEN_BACK, {})
WHERE = {1: "blue", 2: "red"}


def test_trays_handed_out_after_seeing_are_counted_by_sitting():
    (robin,) = sighted_of(record(HANDED, PRINTED, HANDED, HANDED, BACK), WHERE)
    assert (dict(robin.handed_out), robin.taken_back, robin.judged) == ({"blue": 2}, 1, 1)


@pytest.mark.parametrize("deed", [HANDED, SETTLED, ASIDE, KEYED, BACK])
def test_what_is_done_in_a_sitting_whose_key_was_not_seen_is_done_blind(deed):
    elsewhere = sighted_of(record(PRINTED, deed, subjects={1: "2"}), WHERE)
    assert [(one.judged, one.handed_out) for one in elsewhere] == [(0, ())]
    whole: Line = (*ROBIN, Deed.KEY_PRINTED, {"sheet": "sealed-key"})
    (robin,) = sighted_of(record(whole, deed, subjects={1: "2"}), WHERE)
    assert robin.judged or robin.handed_out == (("red", 1),)


def test_told_slips_show_who_was_told_and_no_cup():
    slips: Line = (*ROBIN, Deed.KEY_PRINTED, {"sheet": "told-slips"})
    (robin,) = sighted_of(record(slips, HANDED, SETTLED), WHERE)
    assert (robin.handed_out, robin.settled) == ((), 1)


def test_a_ballot_keyed_by_who_had_seen_the_key_is_said_and_not_said_away():
    said = " ".join(map(str, say_sighted(sighted_of(record(PRINTED, KEYED)), "UTC")))
    assert "The organiser keyed one ballot in afterwards." in said
    assert "nobody who had seen it" not in said


BLIND = [
    (deed, {})
    for deed in Deed
    if deed not in (Deed.KEY_PRINTED, Deed.KEY_SHOWN, Deed.KEY_RECOVERED, Deed.TRAY_REVEALED)
]


@pytest.mark.parametrize(("deed", "detail"), BLIND)
def test_no_other_deed_shows_the_key(deed, detail):
    """A deed that is new stands here until somebody decides whether it shows the key."""
    assert sighted_of(record((*ROBIN, deed, detail))) == ()
