"""Nose first: what a ballot asks, what is locked, and each person's two choices held together."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.findings import findings_of
from panel.core.methods import METHODS
from panel.core.names import Knew, Outcome, Smell, Step
from panel.core.nose_first import NOSE, beside, cup_questions, deciding
from panel.core.outcomes import Group, outcomes_of
from panel.core.plan import Plan, as_words, plan_from_words
from panel.core.plan_document import mark_of
from panel.core.questions import When
from panel.core.side_questions import ballot_questions
from panel.core.steps_compared import Change, StepsCompared, steps_compared
from tests.kinds import FORCED
from tests.results import Answered, comparison, evening, sitting, times

RIGHT, WRONG, NONE = Outcome.RIGHT, Outcome.WRONG, Outcome.NO_CHOICE


def plan_of(method: str = "triangle", step: Step = Step.TASTE, **more) -> Plan:
    known = METHODS[method]
    return Plan(
        method=method,
        aim=known.aims[0],
        sides=known.sides[0],
        attribute="fruity",
        stronger="B",
        smell=Smell.FIRST,
        deciding_step=step,
        **more,
    )


def compared(plan: Plan, answered) -> tuple[StepsCompared, ...]:
    event = evening(comparison(plan), answered)
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    return steps_compared(plan, outcomes.strata)


def table(nose: Outcome | None, taste: Outcome, count: int, step=Step.TASTE, **more):
    """People who came out so by smell and after tasting."""
    decided, other = (taste, nose) if step is Step.TASTE else (nose, taste)
    return times(count, Answered(sitting="blue", outcome=decided, beside=other, **more))


# --- what is asked and what is locked ------------------------------------------------------------


@pytest.mark.parametrize("method", FORCED)
@pytest.mark.parametrize("step", Step)
def test_the_same_question_is_asked_twice_and_the_plan_says_which_decides(method, step):
    plan = plan_of(method, step)
    nose, taste = cup_questions(METHODS[method], plan)
    assert (nose.id, nose.when, taste.when) == (NOSE, When.NOSE, When.CUPS)
    assert (nose.text, nose.pick, nose.positions, nose.no_choice) == (
        taste.text,
        taste.pick,
        taste.positions,
        taste.no_choice,
    )
    assert taste.id == METHODS[method].decides(plan).id
    assert deciding(METHODS[method], plan) is not None
    assert deciding(METHODS[method], plan).id == (NOSE if step is Step.NOSE else taste.id)
    other = beside(METHODS[method], plan)
    assert other is not None
    assert other.id == (taste.id if step is Step.NOSE else NOSE)
    asked = [one.id for one in ballot_questions(METHODS[method], plan)]
    assert asked[:3] == ["knew", NOSE, taste.id]


@pytest.mark.parametrize("method", METHODS)
def test_by_smell_alone_the_one_question_is_asked_of_the_nose(method):
    plan = replace(plan_of(method), smell=Smell.ONLY)
    (asked,) = cup_questions(METHODS[method], plan)
    assert asked.when is When.NOSE
    assert asked.id == METHODS[method].decides(plan).id
    assert beside(METHODS[method], plan) is None


def test_a_plan_of_before_keeps_its_words_and_its_seal():
    """What was sealed before anybody could ask nose first has to check for ever."""
    words = as_words(Plan(method="triangle"))
    assert not {"smell", "deciding_step"} & words.keys()
    assert plan_from_words(words) == Plan(method="triangle")


@pytest.mark.parametrize("smell", [Smell.FIRST, Smell.ONLY])
def test_what_is_chosen_is_locked(smell):
    usual = Plan(method="triangle")
    plan = replace(usual, smell=smell, deciding_step=Step.NOSE)
    assert as_words(plan)["smell"] == smell
    assert as_words(plan)["deciding_step"] == "nose"
    assert plan_from_words(as_words(plan)) == plan
    other = replace(plan, deciding_step=Step.TASTE)
    marks = {mark_of(comparison(one)) for one in (usual, plan, other)}
    assert len(marks) == 3


# --- the two choices held together ---------------------------------------------------------------


@pytest.mark.parametrize("step", Step)
def test_who_changed_their_mind_and_whether_they_were_right_to(step):
    plan = plan_of(step=step)
    (one,) = compared(
        plan,
        (
            *table(RIGHT, RIGHT, 6, step),
            *table(WRONG, WRONG, 5, step),
            *table(WRONG, RIGHT, 4, step),
            *table(RIGHT, WRONG, 3, step),
            *table(WRONG, WRONG, 2, step, turned=True),
        ),
    )
    assert dict(one.counts) == {
        Change.STAYED_RIGHT: 6,
        Change.STAYED_WRONG: 5,
        Change.TO_RIGHT: 4,
        Change.TO_WRONG: 3,
        Change.OTHER_WRONG: 2,
        Change.UNDECIDED: 0,
        Change.ONE_ONLY: 0,
    }
    assert (one.paired, one.changed, one.by_nose, one.by_taste) == (20, 9, 9, 10)


@pytest.mark.parametrize("step", Step)
def test_the_finding_is_that_of_the_step_that_decides(step):
    plan = plan_of(step=step)
    event = evening(
        comparison(plan), (*table(WRONG, RIGHT, 7, step), *table(RIGHT, WRONG, 2, step))
    )
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    (finding,) = findings_of(plan, outcomes)
    assert (finding.correct, finding.tasters) == ((7, 9) if step is Step.TASTE else (2, 9))


def test_a_missing_choice_makes_no_pair():
    (one,) = compared(plan_of(), (*table(RIGHT, RIGHT, 1), *table(None, RIGHT, 3)))
    assert (one.paired, one.count(Change.ONE_ONLY)) == (1, 3)


def test_no_preference_makes_no_pair():
    plan = plan_of("paired-preference", no_preference=True)
    (one,) = compared(plan, (*table(RIGHT, WRONG, 2), *table(NONE, RIGHT, 1)))
    assert (one.paired, one.count(Change.UNDECIDED)) == (2, 1)


def test_who_puts_the_other_two_cups_together_has_not_changed_their_mind():
    """Two of four cups named in a tetrad name the other two: AB|CD is CD|AB."""
    plan = plan_of("tetrad")
    event = evening(comparison(plan), table(WRONG, WRONG, 1))
    (ballot,), (tray,) = event.ballots, event.trays
    rest = tuple(code for code in tray.codes() if code not in ballot.answers[NOSE])
    turned = replace(ballot, answers={**ballot.answers, "pair": rest})
    outcomes = outcomes_of(event.comparison, event.key, event.trays, (turned,))
    (one,) = steps_compared(plan, outcomes.strata)
    assert one.count(Change.STAYED_WRONG) == 1


def test_the_strata_are_never_made_one():
    plan = plan_of()
    told = Answered(sitting="blue", outcome=RIGHT, beside=WRONG, knew=(Knew.VARIABLE,))
    known = compared(plan, (*table(RIGHT, RIGHT, 5), *times(2, told)))
    assert [(one.group, one.paired) for one in known] == [(Group.BLINDED, 5), (Group.TOLD, 2)]
    assert known[1].test is None  # nobody planned that group


def test_nothing_is_compared_where_smell_is_no_step_of_its_own():
    for smell in (Smell.WITH_TASTE, Smell.ONLY):
        assert compared(replace(plan_of(), smell=smell), table(None, RIGHT, 3)) == ()


COUNTS = st.integers(0, 6)


@given(COUNTS, COUNTS, COUNTS, COUNTS, COUNTS, COUNTS)
def test_the_counts_sum_up(stayed, wrong, helped, hurt, other, lone):
    answered = (
        *table(RIGHT, RIGHT, stayed),
        *table(WRONG, WRONG, wrong),
        *table(WRONG, RIGHT, helped),
        *table(RIGHT, WRONG, hurt),
        *table(WRONG, WRONG, other, turned=True),
        *table(None, RIGHT, lone),
    )
    known = compared(plan_of(), answered)
    assert bool(known) == (stayed + wrong + helped + hurt + other > 0)
    for one in known:
        assert sum(count for _, count in one.counts) == len(answered)
        assert one.paired == len(answered) - lone
        assert one.by_taste - one.by_nose == helped - hurt
        assert one.changed == helped + hurt + other


# --- McNemar's exact test ------------------------------------------------------------------------


def exact(to_right: int, to_wrong: int) -> StepsCompared:
    (one,) = compared(plan_of(), (*table(WRONG, RIGHT, to_right), *table(RIGHT, WRONG, to_wrong)))
    return one


@pytest.mark.parametrize(
    ("to_right", "to_wrong", "p"),
    [
        # 2 P(X <= 5 | 15, 1/2): the binomial identity, recomputed
        (10, 5, Fraction(2 * (1 + 15 + 105 + 455 + 1365 + 3003), 2**15)),
        (5, 10, Fraction(2 * (1 + 15 + 105 + 455 + 1365 + 3003), 2**15)),
        (3, 3, Fraction(1)),
        (6, 0, Fraction(2, 2**6)),
    ],
)
def test_mcnemar_in_fractions(to_right, to_wrong, p):
    test = exact(to_right, to_wrong).test
    assert test is not None
    assert test.p_value == pytest.approx(float(p), rel=1e-12)


def test_mcnemar_of_a_textbook():
    """Agresti 2002, Categorical Data Analysis, 10.1: a Prime Minister's approval, 150 and 86 of
    1600 changed their mind; z^2 = 17.36 (from memory). The exact p-value by scipy."""
    test = exact(86, 150).test
    assert test is not None
    assert pytest.approx(17.36, abs=0.006) == (86 - 150) ** 2 / (86 + 150)
    assert test.p_value == pytest.approx(stats.binomtest(86, 236).pvalue, rel=1e-12)
    # the chi-square approximation says nearly the same
    assert test.p_value == pytest.approx(stats.chi2.sf(17.36, 1), rel=0.25)


@given(st.integers(0, 40), st.integers(0, 40))
def test_mcnemar_by_scipy(to_right, to_wrong):
    if to_right + to_wrong == 0:
        return
    one = exact(to_right, to_wrong)
    assert one.test is not None
    assert one.interval is not None
    by_scipy = stats.binomtest(to_right, to_right + to_wrong)
    assert one.test.p_value == pytest.approx(by_scipy.pvalue, rel=1e-12)
    low, high = by_scipy.proportion_ci(0.95, "exact")
    assert (one.interval.low, one.interval.high) == pytest.approx((low, high), abs=1e-12)


def test_where_nobody_changed_for_better_or_worse_there_is_no_test():
    (one,) = compared(plan_of(), table(RIGHT, RIGHT, 4))
    assert one.test is None
    assert one.interval is None


def test_sittings_that_do_not_join_are_compared_apart():
    plan = plan_of(join_sittings=False)
    both = (sitting("blue"), sitting("green"))
    answered = (*table(RIGHT, RIGHT, 2), Answered(sitting="green", outcome=WRONG, beside=RIGHT))
    event = evening(comparison(plan, *both), answered)
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    known = steps_compared(plan, outcomes.strata)
    assert [(one.stratum, one.paired) for one in known] == [
        ("blinded-blue", 2),
        ("blinded-green", 1),
    ]
