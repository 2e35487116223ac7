"""Each caution where it must speak, and where it must be silent."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from scipy import stats

from panel.core.amendment import Amendment
from panel.core.blinding_kept import blinding_kept
from panel.core.cautions import RULES, Caution, Evidence, Severity, cautions_of
from panel.core.comparison import Comparison, Cup, Sitting
from panel.core.duties import Duties
from panel.core.kinds import found_in
from panel.core.methods import method_named
from panel.core.names import (
    Aim,
    Blinding,
    CardStanding,
    Information,
    Knew,
    Looks,
    Outcome,
    Reason,
    Role,
    SittingKind,
    Smell,
    Step,
)
from panel.core.outcomes import outcomes_of
from panel.core.plan import Plan
from panel.core.sight_of_key import Seen, Sighted
from tests.core.wording.banned import BANNED, STATISTICIANS
from tests.results import (
    NOON,
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    sitting,
    times,
)

CHANGE = Amendment(number=1, made=NOON, what="A larger room", reason="More people came")


def evidence(
    event: Evening,
    *amendments: Amendment,
    revealed: frozenset[int] = frozenset(),
    sighted: tuple[Sighted, ...] = (),
) -> Evidence:
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    findings = found_in(event.comparison, outcomes).findings
    return Evidence(
        comparison=event.comparison,
        outcomes=outcomes,
        findings=findings,
        amendments=amendments,
        revealed=revealed,
        sighted=sighted,
        blinding=blinding_kept(event.comparison, sighted, outcomes.reached),
    )


def clean(**changes: object) -> Comparison:
    """A comparison that needs no caution if 72 blinded tasters come."""
    return replace(comparison(Plan(method="triangle", tasters=72)), **changes)


def event_with(*more: Answered, compared: Comparison | None = None, right: int = 30) -> Evening:
    return evening(compared or clean(), (*right_and_wrong("blue", right, 72), *more))


def ids(known: Evidence) -> list[str]:
    return [caution.id for caution in cautions_of(known)]


def only(known: Evidence) -> Caution:
    (caution,) = cautions_of(known)
    return caution


def joined(*sittings: Sitting) -> Comparison:
    return clean(sittings=sittings)


BLUE, GREEN = sitting("blue"), sitting("green", Information.INFORMED)
ONE = Answered(sitting="blue")
INFORMED = times(3, Answered(sitting="green"))


def test_a_clean_evening_needs_no_caution():
    assert ids(evidence(event_with())) == []


def apart(*tasters: int, **plan: object) -> Evening:
    """Blinded tables of 12 planned trays that do not join; so many came to each, a third right."""
    tables = tuple(sitting(f"t{place}") for place in range(len(tasters)))
    known = Plan(method="triangle", tasters=12, join_sittings=False)
    return evening(
        comparison(replace(known, **plan), *tables),
        [
            one
            for table, came in zip(tables, tasters, strict=True)
            for one in right_and_wrong(table.id, came // 3, came)
        ],
    )


SAW = Sighted(role=Role.ORGANISER, number=0, seen=(Seen("pour-mats", NOON, "blue"),))

CASES: dict[str, tuple[Callable[[], Evidence], str]] = {
    "told-at-the-table": (
        lambda: evidence(event_with(*times(2, replace(ONE, knew=(Knew.VARIABLE,))))),
        "2 tasters at a blinded table knew beforehand.",
    ),
    "informed-knew": (
        lambda: evidence(event_with(*INFORMED, compared=joined(BLUE, GREEN))),
        "3 tasters were told what to look for.",
    ),
    "groups-not-drawn": (
        lambda: evidence(event_with(*INFORMED, compared=joined(BLUE, GREEN))),
        "Nobody drew lots for who was told and who was not.",
    ),
    "did-not-say": (
        lambda: evidence(event_with(replace(ONE, knew=()))),
        "One blinded ballot does not say what its taster knew.",
    ),
    "helped": (
        lambda: evidence(event_with(replace(ONE, knew=(Knew.HELPED,)))),
        "One taster had helped to brew or pour.",
    ),
    "tasted-before": (
        lambda: evidence(event_with(replace(ONE, knew=(Knew.BEFORE,)))),
        "One taster had done this test before.",
    ),
    "counted-twice": (
        lambda: evidence(event_with(replace(ONE, taster="07"), replace(ONE, taster="7 "))),
        "One number of the hand-out list stands on more than one counted ballot.",
    ),
    "same-nickname": (
        lambda: evidence(event_with(replace(ONE, taster="Fir"), replace(ONE, taster="fir"))),
        "One nickname stands on more than one counted ballot.",
    ),
    "decided-with-key": (
        lambda: evidence(
            event_with(),
            sighted=(
                Sighted(
                    role=Role.ORGANISER,
                    number=0,
                    seen=(Seen("pour-mats", NOON),),
                    settled=2,
                    set_aside=1,
                    taken_back=1,
                    keyed=3,
                ),
            ),
        ),
        "7 times somebody who had seen the key decided about a ballot, or keyed it in.",
    ),
    "less-blind": (
        lambda: evidence(event_with(), sighted=(replace(SAW, handed_out=(("blue", 1),)),)),
        "Planned as double blinding; by the record it was single at most.",
    ),
    "taster-saw-key": (
        lambda: evidence(
            event_with(compared=clean(duties=Duties(organiser_tastes=True))), sighted=(SAW,)
        ),
        "One of the tasters may have seen the key.",
    ),
    "helper-silent": (
        lambda: evidence(event_with(compared=clean(duties=Duties(helper_tastes=True)))),
        "Somebody who poured or served was to taste, and no counted ballot says so.",
    ),
    "opened-in-emergency": (
        lambda: evidence(
            event_with(
                replace(ONE, standing=CardStanding.SET_ASIDE, reason=Reason.REVEALED, out=True)
            )
        ),
        "One tray was opened before closing, in an emergency.",
    ),
    "feedback": (
        lambda: evidence(
            event_with(
                *times(3, Answered(sitting="home")),
                compared=joined(BLUE, sitting("home", kind=SittingKind.PARCEL)),
            ),
            revealed=frozenset({74}),
        ),
        "The answer of one tray was opened once its ballot was final.",
    ),
    "one-taster": (
        lambda: evidence(
            event_with(
                Answered(sitting="kitchen"),
                compared=joined(BLUE, sitting("kitchen", kind=SittingKind.REPEAT)),
            )
        ),
        "Repeat trials speak of one taster.",
    ),
    "both-asked": (
        lambda: evidence(
            evening(
                comparison(Plan(method="a-not-a-both", tasters=12)),
                times(12, Answered(sitting="blue")),
            )
        ),
        "Every taster was asked about a cup of each drink.",
    ),
    "attribute-named": (
        lambda: evidence(
            event_with(
                compared=clean(
                    plan=Plan(method="paired", attribute="bitter", stronger="B", tasters=72)
                ),
                right=40,
            )
        ),
        "The question told every taster what to look for: bitter.",
    ),
    "single-blinding": (
        lambda: evidence(event_with(compared=clean(blinding=Blinding.SINGLE))),
        "Whoever served could know which cup was which.",
    ),
    "words-waived": (
        lambda: evidence(event_with(compared=clean(waived="Everybody knows the saison."))),
        "Words that blinded tasters could read also stand in what was changed.",
    ),
    "changed-after-sealing": (
        lambda: evidence(event_with(), CHANGE),
        "The sealed plan was changed once.",
    ),
    "another-day": (
        lambda: evidence(event_with(compared=joined(replace(BLUE, starts=NOON + timedelta(8))))),
        "One sitting was held on another day than was sealed.",
    ),
    "small-panel": (
        lambda: evidence(
            evening(comparison(Plan(method="triangle", tasters=12)), right_and_wrong("blue", 5, 12))
        ),
        "This is a small panel.",
    ),
    "fewer-than-planned": (
        lambda: evidence(
            event_with(compared=clean(plan=Plan(method="triangle", tasters=80))),
        ),
        "72 ballots were counted where 80 were planned.",
    ),
    "several-tests": (
        lambda: evidence(apart(12, 12)),
        "2 groups have a verdict each.",
    ),
    "without-ballot": (
        lambda: evidence(
            event_with(
                replace(
                    ONE,
                    outcome=None,
                    standing=CardStanding.SET_ASIDE,
                    reason=Reason.NOT_RETURNED,
                )
            )
        ),
        "One tray went out and no ballot came back.",
    ),
    "set-aside": (
        lambda: evidence(
            event_with(replace(ONE, standing=CardStanding.SET_ASIDE, reason=Reason.TALKED))
        ),
        "One tray was set aside after it had been handed out.",
    ),
    "late": (
        lambda: evidence(event_with(replace(ONE, late=True))),
        "One ballot came after its sitting had closed and is not counted.",
    ),
    "in-question": (
        lambda: evidence(event_with(replace(ONE, standing=CardStanding.IN_QUESTION))),
        "One ballot is still in question and is not counted.",
    ),
    "unbalanced-orders": (
        lambda: evidence(event_with(*times(20, replace(ONE, order="AAB")), right=30)),
        "In the sitting “The blue table” some serving orders were counted more often than others: "
        "from 12 to 32 times.",
    ),
    "fewer-than-guessing": (
        lambda: evidence(event_with(right=10)),
        "Fewer were right than guessing usually gives.",
    ),
    "looks-different": (
        lambda: evidence(
            event_with(compared=clean(serving=replace(clean().serving, looks=Looks.DIFFERENT)))
        ),
        "The drinks look different, and nothing hid it.",
    ),
    "smelled-only": (
        lambda: evidence(event_with(compared=smelling(Smell.ONLY))),
        "The cups were only smelled.",
    ),
    "nose-decides": (
        lambda: evidence(event_with(compared=smelling(Smell.FIRST, Step.NOSE))),
        "The choice by smell decides, as was locked beforehand.",
    ),
    "chosen-before": (
        lambda: evidence(event_with(compared=smelling(Smell.FIRST, Step.TASTE))),
        "Everybody had chosen by smell before they tasted.",
    ),
}


def smelling(smell: Smell, step: Step = Step.TASTE) -> Comparison:
    return clean(plan=replace(clean().plan, smell=smell, deciding_step=step))


def test_of_smelling_one_thing_is_said_at_a_time():
    known = {"smelled-only", "nose-decides", "chosen-before"}
    for smell, step, said in (
        (Smell.WITH_TASTE, Step.NOSE, set()),
        (Smell.ONLY, Step.NOSE, {"smelled-only"}),
        (Smell.ONLY, Step.TASTE, {"smelled-only"}),
        (Smell.FIRST, Step.NOSE, {"nose-decides"}),
        (Smell.FIRST, Step.TASTE, {"chosen-before"}),
    ):
        case = evidence(event_with(compared=smelling(smell, step)))
        assert set(ids(case)) & known == said


@pytest.mark.parametrize("name", CASES)
def test_it_speaks_where_it_must(name):
    known, title = CASES[name]
    spoken = {caution.id: caution for caution in cautions_of(known())}
    assert str(spoken[name].title) == title
    for text in (str(spoken[name].title), str(spoken[name].text)):
        assert not BANNED.search(text)
        assert not STATISTICIANS.search(text)
        assert "%" not in text


def test_every_caution_has_a_case():
    known = {*CASES, "favoured-place", "codes-reused"}
    spoken = {caution.id for case, _ in CASES.values() for caution in cautions_of(case())}
    assert len(RULES) == len(known)
    assert spoken <= known


@pytest.mark.parametrize(
    ("starts", "opened", "said"),
    [
        # In Europe/London 23:30 UTC in July is half past midnight of the next day.
        ("2027-07-02T19:00+00:00", "2027-07-02T19:05+00:00", False),
        ("2027-07-02T22:30+00:00", "2027-07-02T23:30+00:00", False),  # begun late, after midnight
        ("2027-07-02T19:00+00:00", "2027-07-02T08:00+00:00", False),  # early, on the day
        ("2027-07-02T19:00+00:00", "2027-07-01T19:00+00:00", True),
        ("2027-07-02T19:00+00:00", "2027-07-08T19:00+00:00", True),
    ],
)
def test_the_day_is_that_of_the_place(starts, opened, said):
    table = replace(
        BLUE, starts=datetime.fromisoformat(starts), opened=datetime.fromisoformat(opened)
    )
    assert ("another-day" in ids(evidence(event_with(compared=joined(table))))) is said


def test_both_days_are_named():
    table = replace(BLUE, starts=datetime(2026, 12, 4, 19, tzinfo=UTC))
    late = replace(table, opened=datetime(2026, 12, 6, 19, tzinfo=UTC))
    assert str(only(evidence(event_with(compared=joined(late)))).text) == (
        "“The blue table” was planned for Friday 4 December 2026 and opened on Sunday 6 December "
        "2026."
    )


def test_a_favoured_place():
    """Two in three of 72 take the first cup whatever it is."""
    event = event_with()
    codes = {tray.number: tray.codes() for tray in event.trays}
    ballots = tuple(
        replace(ballot, answers={**ballot.answers, "odd": (codes[ballot.tray][0],)})
        if ballot.tray % 3
        else ballot
        for ballot in event.ballots
    )
    known = evidence(replace(event, ballots=ballots))
    (caution,) = (one for one in cautions_of(known) if one.id == "favoured-place")
    assert str(caution.title).startswith("The cup in place 1 was chosen ")


def test_codes_that_stand_twice_in_a_sitting():
    event = event_with()
    first, second, *others = event.trays
    twin = replace(second, cups=(Cup(1, first.cups[0].code), *second.cups[1:]))
    ballots = tuple(ballot for ballot in event.ballots if ballot.tray != second.number)
    again = evidence(replace(event, trays=(first, twin, *others), ballots=ballots))
    assert "codes-reused" not in ids(evidence(event))
    assert "codes-reused" in ids(again)


def test_codes_of_trays_never_used_do_not_count():
    event = event_with()
    first = event.trays[0]
    unused = replace(first, number=99, standing=CardStanding.PRINTED)
    known = evidence(replace(event, trays=(*event.trays, unused), key={**event.key, 99: "AAB"}))
    assert "codes-reused" not in ids(known)


@pytest.mark.parametrize(
    ("more", "silent"),
    [
        ((replace(ONE, taster="7"), replace(ONE, taster="8")), "counted-twice"),
        ((replace(ONE, taster="Fir"), replace(ONE, taster="Oak")), "same-nickname"),
        (
            (
                replace(
                    ONE, outcome=None, standing=CardStanding.SET_ASIDE, reason=Reason.NEVER_USED
                ),
            ),
            "set-aside",
        ),
    ],
)
def test_it_is_silent_where_nothing_happened(more, silent):
    assert silent not in ids(evidence(event_with(*more)))


def test_one_number_in_two_sittings_is_two_people():
    red = sitting("red")
    known = evidence(
        event_with(
            replace(ONE, taster="7"),
            Answered(sitting="red", taster="7"),
            compared=joined(BLUE, red),
        )
    )
    assert "counted-twice" not in ids(known)


def test_drawn_groups_need_no_caution_for_it():
    drawn = joined(replace(BLUE, groups_drawn=True), replace(GREEN, groups_drawn=True))
    assert "groups-not-drawn" not in ids(evidence(event_with(*INFORMED, compared=drawn)))


def test_a_two_sided_question_far_from_even_is_no_mix_up():
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2, tasters=72)
    known = evidence(event_with(compared=clean(plan=plan), right=5))
    assert "fewer-than-guessing" not in ids(known)


def test_a_small_panel_says_what_it_would_have_missed():
    few = evening(comparison(Plan(method="triangle", tasters=2)), right_and_wrong("blue", 1, 2))
    assert "no verdict" in str(only(evidence(few)).text)
    plan = Plan(method="triangle", aim=Aim.SIMILARITY, tasters=12)
    alike = evening(comparison(plan), right_and_wrong("blue", 4, 12))
    assert "Even if nobody could tell" in str(only(evidence(alike)).text)
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2, tasters=20)
    split = evening(comparison(plan), right_and_wrong("blue", 10, 20))
    assert "tossed a coin" in str(only(evidence(split)).text)


def test_repeat_trials_alone_are_not_measured_against_the_planned_tasters():
    kitchen = joined(sitting("kitchen", kind=SittingKind.REPEAT))
    known = evidence(evening(kitchen, right_and_wrong("kitchen", 3, 8)))
    assert ids(known) == ["one-taster"]


def test_only_informed_sittings_are_measured_against_the_plan():
    compared = joined(GREEN)
    known = evidence(evening(compared, right_and_wrong("green", 3, 8)))
    assert "fewer-than-planned" in ids(known)
    assert "groups-not-drawn" not in ids(known)


def test_the_gravest_come_first():
    knew = replace(ONE, knew=(), taster="7")
    compared = clean(serving=replace(clean().serving, looks=Looks.DIFFERENT))
    known = evidence(event_with(knew, replace(knew, outcome=Outcome.WRONG), compared=compared))
    severities = [caution.severity for caution in cautions_of(known)]
    assert severities == sorted(severities, key=list(Severity).index)
    assert severities[0] is Severity.GRAVE
    assert severities[-1] is Severity.NOTE


def spoken(known: Evidence, name: str) -> Caution | None:
    return next((caution for caution in cautions_of(known) if caution.id == name), None)


@pytest.mark.parametrize("tests", [2, 3, 5])
@pytest.mark.parametrize(
    ("plan", "risk", "word"),
    [
        ({"alpha": Decimal("0.05")}, 0.05, "count as a difference"),
        ({"alpha": Decimal("0.1")}, 0.1, "count as a difference"),
        (
            {"aim": Aim.SIMILARITY, "beta": Decimal("0.2"), "pd": Decimal("0.5")},
            0.2,
            "count as similar",
        ),
        (
            {"method": "paired-preference", "aim": Aim.PREFERENCE, "sides": 2},
            0.05,
            "count as a preference",
        ),
    ],
)
def test_how_often_one_of_several_verdicts_errs(tests, plan, risk, word):
    """The chance of one error or more in so many independent tests: scipy.stats.binom."""
    (caution,) = (
        one
        for one in cautions_of(evidence(apart(*[12] * tests, **plan)))
        if one.id == "several-tests"
    )
    text = str(caution.text)
    assert f"about {100 * stats.binom.sf(0, tests, risk):.0f} of 100" in text
    assert word in text
    assert not BANNED.search(text)


def test_only_groups_with_a_verdict_of_the_planned_information_are_several():
    kitchen = times(8, Answered(sitting="kitchen", taster="Fir"))
    compared = joined(BLUE, GREEN, sitting("kitchen", kind=SittingKind.REPEAT))
    known = evidence(event_with(*times(9, INFORMED[0]), *kitchen, compared=compared))
    assert spoken(known, "several-tests") is None  # one blinded group, and others beside it
    assert spoken(evidence(apart(12)), "several-tests") is None
    assert spoken(evidence(apart(12, 2)), "several-tests") is None  # two cannot decide anything


def test_two_tasters_of_repeat_trials_are_two_verdicts():
    kitchen = joined(sitting("kitchen", kind=SittingKind.REPEAT))
    rounds = (
        *right_and_wrong("kitchen", 4, 12, taster="Fir"),
        *right_and_wrong("kitchen", 5, 12, taster="Oak"),
    )
    caution = spoken(evidence(evening(kitchen, rounds)), "several-tests")
    assert caution is not None
    assert str(caution.title) == "2 groups have a verdict each."


def test_sittings_kept_apart_are_each_held_against_the_plan():
    assert spoken(evidence(apart(12, 12)), "fewer-than-planned") is None
    caution = spoken(evidence(apart(12, 7, 11)), "fewer-than-planned")
    assert caution is not None
    assert str(caution.title) == (
        "In the sitting “The t1 table” 7 ballots were counted where 12 were planned."
    )
    alone = spoken(evidence(apart(12, 1, 12)), "fewer-than-planned")
    assert alone is not None
    assert "one ballot was counted where 12 were planned." in str(alone.title)
    joined_up = apart(12, 12, join_sittings=True, tasters=24)
    assert spoken(evidence(joined_up), "fewer-than-planned") is None


AAB = replace(ONE, order="AAB")


def uneven(*answered: Answered, compared: Comparison) -> Caution | None:
    return spoken(evidence(evening(compared, answered)), "unbalanced-orders")


def test_orders_that_are_even_together_may_be_uneven_in_each_group():
    """12 informed by two orders, 24 blinded by the other four: pooled, each stands six times."""
    orders = method_named("triangle").orders(Plan(method="triangle"))
    informed = [replace(INFORMED[0], order=order) for order in orders[:2] for _ in range(6)]
    blinded = [replace(ONE, order=order) for order in orders[2:] for _ in range(6)]
    caution = uneven(*informed, *blinded, compared=joined(BLUE, GREEN))
    assert caution is not None
    assert "from 0 to 6 times" in str(caution.title)
    assert "The green table" in str(caution.title)  # chi-square 24 of 12 trays, against 12 of 24
    assert "The draw was even" in str(caution.text)


def test_who_was_told_at_the_table_does_not_unbalance_the_blinded():
    told = replace(AAB, knew=(Knew.VARIABLE,))
    assert uneven(*times(36, ONE), *times(12, told), compared=clean()) is None


@pytest.mark.parametrize("kind", [SittingKind.PARCEL, SittingKind.REPEAT])
def test_orders_drawn_one_by_one_need_not_be_even(kind):
    home = sitting("home", kind=kind)
    caution = uneven(*times(12, replace(AAB, sitting="home")), compared=joined(home))
    assert caution is not None
    assert "drawn one by one, so they need not be even" in str(caution.text)
    assert "The draw was even" not in str(caution.text)


def test_uneven_orders_of_joined_sittings_are_said_of_their_group():
    home = sitting("home", kind=SittingKind.PARCEL)
    parcels = times(12, replace(AAB, sitting="home"))
    caution = uneven(*times(12, ONE), *parcels, compared=joined(BLUE, home))
    assert caution is not None
    assert str(caution.title).startswith("Among the blinded some serving orders")
    assert "At tables the draw was even" in str(caution.text)
    hall = sitting("hall", Information.INFORMED)
    heard = times(12, replace(AAB, sitting="hall"))
    caution = uneven(*INFORMED, *heard, compared=joined(GREEN, hall))
    assert caution is not None
    assert str(caution.title).startswith("Among the informed some serving orders")


def test_feedback_is_said_of_trays_that_were_looked_at_and_of_no_others():
    kitchen = joined(sitting("kitchen", kind=SittingKind.REPEAT))
    aside = Answered(sitting="kitchen", standing=CardStanding.SET_ASIDE, reason=Reason.ILL)
    event = evening(kitchen, (*right_and_wrong("kitchen", 3, 8), aside))
    assert spoken(evidence(event), "feedback") is None
    caution = spoken(evidence(event, revealed=frozenset({2, 5, 9})), "feedback")
    assert caution is not None
    assert str(caution.title).startswith("The answers of 3 trays were opened")


def test_feedback_does_not_say_that_codes_stand_once_where_they_stand_twice():
    kitchen = joined(sitting("kitchen", kind=SittingKind.REPEAT))
    event = evening(kitchen, right_and_wrong("kitchen", 3, 8))
    looked = {"revealed": frozenset({2})}
    caution = spoken(evidence(event, **looked), "feedback")
    assert caution is not None
    assert "No code of theirs stands on another tray" in str(caution.text)
    first, second, *others = event.trays
    twin = replace(first, cups=(Cup(1, second.cups[0].code), *first.cups[1:]))
    ballots = tuple(ballot for ballot in event.ballots if ballot.tray != first.number)
    again = replace(event, trays=(twin, second, *others), ballots=ballots)
    twice = spoken(
        evidence(
            replace(
                again, trays=(replace(twin, standing=CardStanding.HANDED_OUT), second, *others)
            ),
            **looked,
        ),
        "feedback",
    )
    assert twice is not None
    assert "some of their codes stand on other trays too" in str(twice.text)


def test_setting_aside_says_when_and_nothing_of_who_knew():
    known, _ = CASES["set-aside"]
    caution = spoken(known(), "set-aside")
    assert caution is not None
    assert str(caution.text).endswith("All was decided before closing.")
    event = event_with(replace(ONE, standing=CardStanding.SET_ASIDE, reason=Reason.TALKED))
    seen = Sighted(
        role=Role.ORGANISER, number=0, seen=(Seen("pour-mats", NOON, "blue"),), set_aside=2
    )
    texts = {one.id: str(one.text) for one in cautions_of(evidence(event, sighted=(seen,)))}
    assert "but 2 times by somebody who had seen the key" in texts["set-aside"]
    assert "decided-with-key" in texts


def test_straight_from_the_table_is_not_after_handing_out():
    aside = replace(ONE, outcome=None, standing=CardStanding.SET_ASIDE, reason=Reason.TALKED)
    assert "set-aside" not in ids(evidence(event_with(aside)))
    assert "set-aside" in ids(evidence(event_with(replace(aside, out=True))))
