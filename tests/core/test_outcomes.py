"""Who counts as what: the groups, the rule for the told, the trays that are not counted."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.comparison import Tray
from panel.core.flow import Fate, Flow, fate_of
from panel.core.names import (
    CardStanding,
    Channel,
    Information,
    Knew,
    Outcome,
    Reason,
    SittingKind,
)
from panel.core.outcomes import Group, Outcomes, outcomes_of
from panel.core.plan import Plan
from tests.results import (
    NOON,
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    sitting,
    times,
    two_tables,
)


def judged(event: Evening) -> Outcomes:
    return outcomes_of(event.comparison, event.key, event.trays, event.ballots)


def counts(outcomes: Outcomes) -> dict[str, tuple[int, int]]:
    """Right and all, by stratum."""
    return {
        stratum.id: (stratum.count(Outcome.RIGHT), len(stratum.ballots))
        for stratum in outcomes.strata
    }


def test_blinded_and_informed_are_never_one_stratum():
    assert counts(judged(two_tables())) == {"blinded": (15, 36), "informed": (9, 12)}


@pytest.mark.parametrize("knew", [Knew.VARIABLE, Knew.HELPED])
def test_a_blinded_taster_who_knew_or_helped_stands_apart(knew):
    told = Answered(sitting="blue", knew=(Knew.BEFORE, knew))
    event = evening(comparison(), (*right_and_wrong("blue", 5, 12), told))
    assert counts(judged(event)) == {"blinded": (5, 12), "told-at-the-table": (1, 1)}


@pytest.mark.parametrize("knew", [(), (Knew.NOTHING,), (Knew.BEFORE,)])
def test_who_knew_nothing_of_the_variable_stays_blinded(knew):
    event = evening(comparison(), times(3, Answered(sitting="blue", knew=knew)))
    assert counts(judged(event)) == {"blinded": (3, 3)}


@pytest.mark.parametrize("knew", list(Knew))
def test_nobody_leaves_an_informed_sitting_for_what_they_knew(knew):
    compared = comparison(None, sitting("green", Information.INFORMED))
    event = evening(compared, times(3, Answered(sitting="green", knew=(knew,))))
    assert counts(judged(event)) == {"informed": (3, 3)}


def test_sittings_of_one_information_join_only_where_the_plan_says_so():
    tables = (sitting("blue"), sitting("red"), sitting("home", kind=SittingKind.PARCEL))
    trays = tuple(Answered(sitting=name) for name in ("blue", "red", "home", "home"))
    joined = comparison(Plan(method="triangle"), *tables)
    apart = comparison(Plan(method="triangle", join_sittings=False), *tables)
    assert counts(judged(evening(joined, trays))) == {"blinded": (4, 4)}
    assert counts(judged(evening(apart, trays))) == {
        "blinded-blue": (1, 1),
        "blinded-red": (1, 1),
        "blinded-home": (2, 2),
    }


def test_repeat_trials_are_a_group_for_each_taster_and_never_added_to_tasters():
    compared = comparison(None, sitting("blue"), sitting("kitchen", kind=SittingKind.REPEAT))
    kitchen = Answered(sitting="kitchen", knew=(Knew.HELPED,))
    trays = (
        *right_and_wrong("blue", 1, 3),
        *times(4, replace(kitchen, taster="Fir")),
        *times(2, replace(kitchen, taster=" fir ", outcome=Outcome.WRONG)),
        *times(5, replace(kitchen, taster="Oak")),
    )
    assert counts(judged(evening(compared, trays))) == {
        "blinded": (1, 3),
        "repeat-trials-kitchen-1": (4, 6),
        "repeat-trials-kitchen-2": (5, 5),
    }


def test_unnamed_repeat_trials_belong_to_the_only_taster():
    compared = comparison(None, sitting("kitchen", kind=SittingKind.REPEAT))
    one = Answered(sitting="kitchen")
    event = evening(compared, (*times(2, one), replace(one, taster="Fir")))
    assert counts(judged(event)) == {"repeat-trials-kitchen-1": (3, 3)}


def test_no_preference_is_a_count_of_its_own():
    plan = Plan(method="paired-preference", no_preference=True, sides=2)
    none = Answered(sitting="blue", outcome=Outcome.NO_CHOICE)
    event = evening(comparison(plan), (*right_and_wrong("blue", 5, 9), *times(3, none)))
    (stratum,) = judged(event).strata
    assert [stratum.count(outcome) for outcome in Outcome] == [5, 4, 3, 0]


def test_the_last_ballot_before_closing_counts_and_a_later_one_is_only_listed():
    event = evening(comparison(), times(1, Answered(sitting="blue", outcome=Outcome.WRONG)))
    (first,) = event.ballots
    right = evening(event.comparison, [Answered(sitting="blue")]).ballots[0]
    second = replace(right, revision=2, received=first.received + timedelta(minutes=1))
    third = replace(first, revision=3, received=first.received + timedelta(hours=3), late=True)
    outcomes = outcomes_of(event.comparison, event.key, event.trays, (third, first, second))
    assert counts(outcomes) == {"blinded": (1, 1)}
    assert [ballot.received for ballot in outcomes.late] == [third.received]
    assert outcomes.flow.late == 0


def copies(*knew: tuple[Knew, ...] | None, late: bool = False) -> Outcomes:
    """One blinded tray whose ballot came once for each of these; the last one `late` or not."""
    event = evening(comparison(), times(1, Answered(sitting="blue")))
    (whole,) = event.ballots
    ballots = [
        replace(
            whole,
            answers={**whole.answers, "knew": said},
            revision=revision,
            channel=(Channel.PHONE, Channel.KEYED)[revision % 2],
            received=whole.received + timedelta(minutes=revision),
            late=late and revision == len(knew),
        )
        for revision, said in enumerate(knew, start=1)
    ]
    return outcomes_of(event.comparison, event.key, event.trays, reversed(ballots))


NOTHING, VARIABLE, BEFORE = (Knew.NOTHING,), (Knew.VARIABLE,), (Knew.BEFORE,)


@pytest.mark.parametrize(
    ("said", "knew", "group"),
    [
        ((VARIABLE, NOTHING), VARIABLE, Group.TOLD),
        ((NOTHING, (Knew.HELPED,), ()), (Knew.HELPED,), Group.TOLD),
        ((BEFORE, VARIABLE, NOTHING), (Knew.VARIABLE, Knew.BEFORE), Group.TOLD),
        ((BEFORE, NOTHING), BEFORE, Group.BLINDED),
        (((), NOTHING, ()), NOTHING, Group.BLINDED),
        (((), ()), (), Group.BLINDED),
    ],
)
def test_what_a_taster_knew_cannot_be_taken_back(said, knew, group):
    (judged_,) = copies(*said).judged
    assert (judged_.knew, judged_.group) == (knew, group)


def test_what_a_late_copy_says_of_knowing_changes_nothing():
    outcomes = copies(NOTHING, VARIABLE, late=True)
    (counted,), (late,) = outcomes.judged, outcomes.late
    assert (counted.knew, counted.group) == (NOTHING, Group.BLINDED)
    assert late.knew == VARIABLE
    assert outcomes.flow.told == 0


def test_a_ballot_without_its_tray_is_refused():
    event = two_tables()
    with pytest.raises(ValueError, match=r"not there: \[1\]"):
        outcomes_of(event.comparison, event.key, event.trays[1:], event.ballots)


def test_what_people_decided_about_a_tray_goes_before_its_ballot():
    one = Answered(sitting="blue")
    trays = (
        one,
        replace(one, standing=CardStanding.SET_ASIDE, reason=Reason.SAW),
        replace(one, standing=CardStanding.IN_QUESTION),
        replace(one, late=True),
        replace(one, outcome=None),
        replace(one, outcome=None, standing=CardStanding.PRINTED, spare=True),
        replace(one, outcome=None, standing=CardStanding.SET_ASIDE, reason=Reason.NEVER_USED),
        replace(one, outcome=None, standing=CardStanding.SET_ASIDE, reason=Reason.MISFILLED),
        replace(one, outcome=None, standing=CardStanding.SET_ASIDE, reason=Reason.NOT_RETURNED),
        replace(one, knew=(Knew.HELPED,), standing=CardStanding.PRINTED),
    )
    flow = judged(evening(comparison(), trays)).flow
    assert flow == Flow(
        drawn=10, unused=2, used=8, before=1, handed_out=7, not_returned=2, returned=5,
        set_aside=((Reason.NOT_RETURNED, 1), (Reason.MISFILLED, 1), (Reason.SAW, 1)),
        set_aside_before=((Reason.MISFILLED, 1),),
        without_ballot=1, late=1, in_question=1, told=1, counted=1,
    )  # fmt: skip


SPILLED = Answered(
    sitting="blue", outcome=None, standing=CardStanding.SET_ASIDE, reason=Reason.SPILLED
)


@pytest.mark.parametrize(
    ("tray", "before"),
    [
        (SPILLED, 1),
        (replace(SPILLED, taster="Fir"), 1),  # a name may be noted before a tray goes out
        (replace(SPILLED, out=True), 0),
        (replace(SPILLED, out=True, reason=Reason.MISFILLED), 0),
        (replace(SPILLED, outcome=Outcome.RIGHT), 0),
        (replace(SPILLED, outcome=Outcome.RIGHT, late=True), 0),
    ],
)
def test_what_was_handed_out_was_not_set_aside_before_serving(tray, before):
    flow = judged(evening(comparison(), [tray])).flow
    assert (flow.before, flow.handed_out) == (before, 1 - before)


NOTHING_CAME_BACK = {Reason.NEVER_USED: "unused", Reason.NOT_RETURNED: "not_returned"}


@pytest.mark.parametrize("reason", Reason)
@pytest.mark.parametrize(
    ("moment", "where"),
    [
        ({"outcome": None}, "before"),  # straight from the table
        ({"outcome": None, "out": True}, "returned"),  # out, and set aside without a ballot
        ({"outcome": Outcome.RIGHT}, "returned"),  # answered, though nobody noted handing it out
        ({"outcome": Outcome.WRONG, "out": True}, "returned"),
    ],
)
def test_every_reason_at_every_moment_has_its_own_place(reason, moment, where):
    if moment["outcome"] is None:
        where = NOTHING_CAME_BACK.get(reason, where)
    flow = judged(evening(comparison(), [replace(SPILLED, reason=reason, **moment)])).flow
    places = {name: getattr(flow, name) for name in ("unused", "before", "not_returned")}
    assert {**places, "returned": flow.returned} == {
        name: int(name == where) for name in (*places, "returned")
    }
    assert dict(flow.set_aside_before) == ({reason: 1} if where == "before" else {})
    assert dict(flow.reasons_after) == ({reason: 1} if where == "returned" else {})
    assert flow.gone == (where == "not_returned")


@pytest.mark.parametrize(
    ("reason", "outcome", "late", "fate"),
    [
        (Reason.NEVER_USED, None, False, Fate.UNUSED),
        (Reason.NEVER_USED, Outcome.RIGHT, False, Fate.SET_ASIDE),
        (Reason.NEVER_USED, Outcome.RIGHT, True, Fate.LATE),
        (Reason.NOT_RETURNED, None, False, Fate.SET_ASIDE),
        (Reason.NOT_RETURNED, Outcome.RIGHT, True, Fate.LATE),
        (Reason.SAW, Outcome.RIGHT, True, Fate.SET_ASIDE),
        (None, Outcome.RIGHT, True, Fate.SET_ASIDE),
    ],
)
def test_a_ballot_corrects_who_said_that_none_would_come(reason, outcome, late, fate):
    tray = evening(
        comparison(),
        [Answered(sitting="blue", standing=CardStanding.SET_ASIDE, reason=reason)],
    ).trays[0]
    came = outcome is not None
    assert fate_of(tray, in_time=came and not late, late=came and late, told=False) is fate


trays = st.builds(
    Answered,
    sitting=st.sampled_from(["blue", "green", "kitchen"]),
    outcome=st.sampled_from([None, Outcome.RIGHT, Outcome.WRONG]),
    knew=st.sets(st.sampled_from(Knew)).map(tuple),
    standing=st.sampled_from(CardStanding),
    reason=st.sampled_from([None, *Reason]),
    late=st.booleans(),
    taster=st.sampled_from(["", "7", "Fir"]),
    out=st.booleans(),
)


def with_more_copies(event: Evening, more: list[tuple[int, bool]]) -> Evening:
    """Further copies of the ballots that came, in time or late."""
    copies = tuple(
        replace(
            event.ballots[place % len(event.ballots)],
            revision=revision,
            received=NOON + timedelta(hours=9, minutes=revision),
            late=late,
        )
        for revision, (place, late) in enumerate(more, start=2)
        if event.ballots
    )
    return replace(event, ballots=event.ballots + copies)


@given(st.lists(trays, max_size=25), st.lists(st.tuples(st.integers(0, 24), st.booleans())))
def test_the_flow_adds_up_whatever_happened(wanted, more):
    compared = comparison(
        None,
        sitting("blue"),
        sitting("green", Information.INFORMED),
        sitting("kitchen", kind=SittingKind.REPEAT),
    )
    event = with_more_copies(evening(compared, wanted), more)
    outcomes = judged(event)
    flow = outcomes.flow
    assert flow.late == len(only_late(event))
    assert only_late(event) <= {ballot.tray for ballot in outcomes.late}
    ended = (flow.unused, flow.set_aside_trays, flow.without_ballot, flow.late, flow.in_question)
    assert sum(ended) + flow.told + flow.counted == flow.drawn == len(wanted)
    assert flow.told == sum(len(stratum.ballots) for stratum in outcomes.of(Group.TOLD))
    assert flow.told + flow.counted == len(outcomes.judged)
    assert flow.drawn == flow.unused + flow.before + flow.handed_out
    assert flow.handed_out == flow.gone + flow.without_ballot + flow.returned
    after = sum(trays for _, trays in flow.reasons_after)
    assert flow.returned == after + flow.late + flow.in_question + flow.told + flow.counted
    noted = {tray.number for tray in event.trays if tray.handed_out}
    answered = {ballot.tray for ballot in event.ballots}
    assert flow.handed_out >= len(answered - {t.number for t in event.trays if unused(t)})
    assert flow.before <= len({tray.number for tray in event.trays} - noted - answered)
    for name in ("drawn", "before", "handed_out", "returned", "late", "told", "counted"):
        assert getattr(flow, name) == sum(getattr(part, name) for _, part in outcomes.flows)


def unused(tray: Tray) -> bool:
    return tray.standing is CardStanding.PRINTED or tray.reason is Reason.NEVER_USED


def only_late(event: Evening) -> set[int]:
    """Trays that the list of late ballots speaks of and nothing else does."""
    late = {ballot.tray for ballot in event.ballots if ballot.late}
    in_time = {ballot.tray for ballot in event.ballots if not ballot.late}
    spoken_for = {
        tray.number
        for tray in event.trays
        if tray.standing is CardStanding.IN_QUESTION
        or (
            tray.standing is CardStanding.SET_ASIDE
            and tray.reason not in (Reason.NEVER_USED, Reason.NOT_RETURNED)
        )
    }
    return late - in_time - spoken_for


def test_counts_that_do_not_add_up_are_refused():
    flow = judged(two_tables()).flow
    with pytest.raises(ValueError, match="do not add up"):
        replace(flow, counted=flow.counted - 1)
    with pytest.raises(ValueError, match="do not add up"):
        replace(flow, set_aside_before=((Reason.SAW, 1),))
