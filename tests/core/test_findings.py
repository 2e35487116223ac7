"""Findings against scipy.stats and against formulas written out here, from published sources."""

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from panel.core.difference import Basis, Difference, differences_of
from panel.core.findings import Finding, Verdict, findings_of, winner
from panel.core.names import Aim, Information, Knew, Outcome, SittingKind
from panel.core.outcomes import Group, outcomes_of
from panel.core.plan import Plan
from tests.results import (
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    sitting,
    times,
    two_tables,
)


def found(event: Evening) -> tuple[Finding, ...]:
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    return findings_of(event.comparison.plan, outcomes)


def one(plan: Plan, right: int, tasters: int) -> Finding:
    (finding,) = found(evening(comparison(plan), right_and_wrong("blue", right, tasters)))
    return finding


def differences(event: Evening, informed: frozenset[int] = frozenset()) -> tuple[Difference, ...]:
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots, informed)
    findings = findings_of(event.comparison.plan, outcomes)
    return differences_of(event.comparison, outcomes, findings)


def difference(event: Evening) -> Difference | None:
    made = differences(event)
    assert len(made) < 2
    return made[0] if made else None


def test_the_blinded_of_the_example_by_scipy():
    """15 of 36 in a triangle test; every number recomputed with scipy.stats."""
    finding = found(two_tables())[0]
    assert (finding.correct, finding.tasters, finding.expected) == (15, 36, 12)
    by_scipy = stats.binomtest(15, 36, 1 / 3, alternative="greater")
    assert finding.test is not None
    assert finding.tally is not None
    assert finding.test.p_value == pytest.approx(by_scipy.pvalue, rel=1e-12)
    low, high = stats.binomtest(15, 36).proportion_ci(0.95, "exact")
    assert finding.tally.interval.low == pytest.approx(low, rel=1e-9)
    assert finding.tally.interval.high == pytest.approx(high, rel=1e-9)
    assert finding.decisive == 18
    assert stats.binom.sf(17, 36, 1 / 3) <= 0.05 < stats.binom.sf(16, 36, 1 / 3)
    pc = 1 / 3 + 0.3 * 2 / 3
    assert finding.power == pytest.approx(stats.binom.sf(17, 36, pc), rel=1e-12)
    assert finding.limit == Fraction(3, 10)
    assert finding.verdict is Verdict.NOT_SHOWN


def test_the_smallest_difference_this_panel_would_have_seen():
    """At `detectable` the power is four in five, by scipy.stats.binom."""
    finding = found(two_tables())[0]
    assert finding.detectable is not None
    pc = 1 / 3 + finding.detectable * 2 / 3
    assert stats.binom.sf(17, 36, pc) == pytest.approx(0.8, abs=1e-9)


def test_the_informed_of_the_example_by_scipy():
    finding = found(two_tables())[1]
    assert finding.verdict is Verdict.SHOWN
    assert finding.test is not None
    assert finding.test.p_value == pytest.approx(stats.binom.sf(8, 12, 1 / 3), rel=1e-12)


def test_d_prime_of_a_share_is_the_published_one():
    """pc 0.4180 in a triangle and 0.5825 in a duo-trio belong to d′ 1 (Ennis 1993, 4 digits)."""
    triangle, duo_trio = (
        one(Plan(method="triangle"), 418, 1000),
        one(Plan(method="duo-trio"), 5825, 10000),
    )
    for finding in (triangle, duo_trio):
        assert finding.tally is not None
        assert finding.tally.d_prime == pytest.approx(1.0, abs=2e-3)


def test_told_at_the_table_stand_apart_and_the_blinded_are_shown_with_them_too():
    blinded, informed, told = found(two_tables(told=2))
    assert (blinded.correct, blinded.tasters) == (15, 36)
    assert blinded.with_told is not None
    assert (blinded.with_told.correct, blinded.with_told.tasters) == (17, 38)
    assert (told.group, told.correct, told.tasters) == (Group.TOLD, 2, 2)
    assert told.verdict is Verdict.COUNT_ONLY
    assert informed.with_told is None


def newcombe(x: int, n: int, y: int, m: int) -> tuple[float, float]:
    """Newcombe 1998, Stat Med 17:873–890, method 10, with Wilson limits by scipy.stats."""
    one_low, one_high = stats.binomtest(x, n).proportion_ci(0.95, "wilson")
    two_low, two_high = stats.binomtest(y, m).proportion_ci(0.95, "wilson")
    p, q = x / n, y / m
    return (
        p - q - math.hypot(p - one_low, two_high - q),
        p - q + math.hypot(one_high - p, q - two_low),
    )


@pytest.mark.parametrize(
    ("blinded", "informed"), [((15, 36), (9, 12)), ((4, 12), (12, 12)), ((7, 20), (7, 20))]
)
def test_the_difference_by_scipy(blinded, informed):
    known = difference(two_tables(blinded, informed))
    assert known is not None
    assert known.compared.difference == pytest.approx(
        informed[0] / informed[1] - blinded[0] / blinded[1]
    )
    low, high = newcombe(*informed, *blinded)
    assert known.compared.interval.low == pytest.approx(low, abs=1e-9)
    assert known.compared.interval.high == pytest.approx(high, abs=1e-9)
    table = [
        [informed[0], blinded[0]],
        [informed[1] - informed[0], blinded[1] - blinded[0]],
    ]
    # scipy's two-sided Boschloo is twice the smaller one-sided value; its maximum is sought on a
    # grid of the nuisance proportion, hence the tolerance.
    by_scipy = stats.boschloo_exact(table, n=256).pvalue
    assert known.compared.p_value == pytest.approx(by_scipy, abs=2e-3)


def test_opposite_verdicts_are_noticed():
    known = difference(two_tables())
    assert known is not None
    assert known.verdicts_differ
    assert not known.strong(0.05)
    alike = difference(two_tables((15, 36), (5, 12)))
    assert alike is not None
    assert not alike.verdicts_differ


def test_drawn_groups_are_compared_as_they_were_drawn():
    compared = comparison(
        None,
        sitting("blue", groups_drawn=True),
        sitting("green", Information.INFORMED, groups_drawn=True),
    )
    told = times(2, Answered(sitting="blue", knew=(Knew.VARIABLE,)))
    trays = (*right_and_wrong("blue", 4, 10), *told, *right_and_wrong("green", 8, 10))
    known = difference(evening(compared, trays))
    assert known is not None
    assert known.drawn
    assert (known.blinded_correct, known.blinded_tasters) == (6, 12)
    assert (known.informed_correct, known.informed_tasters) == (8, 10)


def test_groups_by_lot_and_groups_without_are_never_pooled():
    """Two sittings that lots brought people to beside two that anybody chose: each pair has its
    own difference, with its own tasters and no others."""
    compared = comparison(
        None,
        sitting("blue", groups_drawn=True),
        sitting("green", Information.INFORMED, groups_drawn=True),
        sitting("red"),
        sitting("grey", Information.INFORMED),
    )
    told = Answered(sitting="blue", knew=(Knew.VARIABLE,))
    trays = (
        *right_and_wrong("blue", 4, 10),
        told,
        *right_and_wrong("green", 8, 10),
        *right_and_wrong("red", 3, 12),
        replace(told, sitting="red"),
        *right_and_wrong("grey", 5, 6),
    )
    drawn, other = differences(evening(compared, trays))
    assert (drawn.basis, drawn.sittings) == (Basis.SITTINGS_DRAWN, ("blue", "green"))
    assert (drawn.informed_correct, drawn.informed_tasters) == (8, 10)
    assert (drawn.blinded_correct, drawn.blinded_tasters) == (5, 11)
    assert (other.basis, other.sittings) == (Basis.NOT_DRAWN, ("red", "grey"))
    assert (other.informed_correct, other.informed_tasters) == (5, 6)
    assert (other.blinded_correct, other.blinded_tasters) == (3, 12)
    assert (drawn.drawn, other.drawn) == (True, False)
    assert not drawn.whole
    assert not other.whole


def test_lots_for_one_sitting_alone_part_nobody():
    compared = comparison(
        None, sitting("blue", groups_drawn=True), sitting("green", Information.INFORMED)
    )
    trays = (*right_and_wrong("blue", 4, 10), *right_and_wrong("green", 8, 10))
    known = difference(evening(compared, trays))
    assert known is not None
    assert known.basis is Basis.NOT_DRAWN
    assert known.whole


def test_no_preference_is_in_no_difference():
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2, no_preference=True)
    compared = comparison(plan, sitting("blue"), sitting("green", Information.INFORMED))
    nobody = Answered(sitting="blue", outcome=Outcome.NO_CHOICE)
    trays = (*right_and_wrong("blue", 4, 10), nobody, *right_and_wrong("green", 8, 10))
    known = difference(evening(compared, trays))
    assert known is not None
    assert (known.blinded_correct, known.blinded_tasters) == (4, 10)


@given(
    st.lists(
        st.builds(
            Answered,
            sitting=st.sampled_from(["split", "drawn", "drawn-told", "plain", "plain-told"]),
            outcome=st.sampled_from([Outcome.RIGHT, Outcome.WRONG]),
            knew=st.sampled_from([(Knew.NOTHING,), (Knew.VARIABLE,)]),
        ),
        max_size=30,
    ),
    st.frozensets(st.integers(1, 30)),
    st.booleans(),
)
def test_no_taster_stands_in_two_differences(answered, lots, join):
    told = Information.INFORMED
    compared = comparison(
        Plan(method="triangle", join_sittings=join),
        sitting("split", Information.SPLIT),
        sitting("drawn", groups_drawn=True),
        sitting("drawn-told", told, groups_drawn=True),
        sitting("plain"),
        sitting("plain-told", told),
    )
    event = evening(compared, answered)
    informed = frozenset(
        tray.number for tray in event.trays if tray.sitting == "split" and tray.number in lots
    )
    made = differences(event, informed)
    sittings = [one for known in made for one in known.sittings]
    assert len(sittings) == len(set(sittings))
    for known in made:
        there = [tray for tray in event.trays if tray.sitting in known.sittings]
        heard = {t.number for t in there if t.sitting.endswith("told") or t.number in informed}
        by_lot = known.basis is not Basis.NOT_DRAWN
        knew = {ballot.tray for ballot in event.ballots if "variable" in ballot.answers["knew"]}
        blinded = {t.number for t in there} - heard
        assert known.informed_tasters == len(heard)
        assert known.blinded_tasters == len(blinded if by_lot else blinded - knew)


def test_no_difference_is_made_of_one_group_or_of_sittings_kept_apart():
    assert difference(evening(comparison(), right_and_wrong("blue", 3, 9))) is None
    apart = comparison(
        Plan(method="triangle", join_sittings=False),
        sitting("blue"),
        sitting("red"),
        sitting("green", Information.INFORMED),
    )
    trays = tuple(Answered(sitting=name) for name in ("blue", "red", "green"))
    assert difference(evening(apart, trays)) is None


@pytest.mark.parametrize(
    ("method", "fewest"),
    [
        # (1/3)³ = 0.037, (1/2)⁵ = 0.031, 2 (1/2)⁶ = 0.031, (1/6)² = 0.028: the first
        # at 0.05; (1/10)² = 0.01
        ("triangle", 3),
        ("duo-trio", 5),
        ("paired", 5),
        ("paired-preference", 6),
        ("3-afc", 3),
        ("tetrad", 3),
        ("tetrad-specified", 2),
        ("two-out-of-five", 2),
    ],
)
def test_too_few_give_a_count_and_no_verdict(method, fewest):
    aim = Aim.PREFERENCE if method == "paired-preference" else Aim.DIFFERENCE
    plan = Plan(method=method, aim=aim, attribute="bitter", stronger="B")
    short = one(plan, fewest - 1, fewest - 1)
    assert (short.verdict, short.fewest) == (Verdict.TOO_FEW, fewest)
    assert one(plan, fewest, fewest).verdict is Verdict.SHOWN


def test_nobody_at_all_is_too_few():
    (finding,) = found(evening(comparison(), []))
    assert (finding.verdict, finding.tasters, finding.fewest) == (Verdict.TOO_FEW, 0, 3)
    assert finding.tally is None


@pytest.mark.parametrize(("right", "verdict"), [(25, Verdict.SIMILAR), (26, Verdict.NOT_SIMILAR)])
def test_similarity_by_scipy(right, verdict):
    """At most 5 % risk of missing 30 % discriminators among 60: P(X <= 25 | 60, 0.5333) = 0.046."""
    plan = Plan(method="triangle", aim=Aim.SIMILARITY, beta=Decimal("0.05"), pd=Decimal("0.3"))
    finding = one(plan, right, 60)
    by_scipy = stats.binom.cdf(right, 60, 1 / 3 + 0.2)
    assert (by_scipy <= 0.05) == (verdict is Verdict.SIMILAR)
    assert finding.verdict is verdict
    assert finding.similarity is not None
    assert finding.similarity.p_value == pytest.approx(by_scipy, rel=1e-9)


def test_no_similarity_is_concluded_from_a_limit_below_chance():
    """Modelled on ISO 4120:2004, 8.2: so few tasters that only fewer than by guessing would do."""
    plan = Plan(method="triangle", aim=Aim.SIMILARITY, beta=Decimal("0.05"), pd=Decimal("0.3"))
    assert one(plan, 0, 6).verdict is Verdict.TOO_FEW


@pytest.mark.parametrize(("right", "ahead"), [(3, "B"), (6, ""), (11, "A")])
def test_two_sided_methods_name_the_beer_ahead(right, ahead):
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2)
    finding = one(plan, right, 12)
    assert finding.counted_beer == "A"
    assert winner(finding, ("A", "B")) == ahead


def test_no_preference_leaves_the_test_to_those_who_chose():
    """16 of 20 who chose, two-sided: twice P(X >= 16 | 20, 1/2), by scipy.stats."""
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, no_preference=True, sides=2)
    none = times(5, Answered(sitting="blue", outcome=Outcome.NO_CHOICE))
    event = evening(comparison(plan), (*right_and_wrong("blue", 16, 20), *none))
    (finding,) = found(event)
    assert (finding.tasters, finding.no_choice) == (20, 5)
    assert finding.test is not None
    assert finding.test.p_value == pytest.approx(2 * stats.binom.sf(15, 20, 0.5), rel=1e-12)


def test_repeat_trials_are_found_per_taster():
    compared = comparison(None, sitting("kitchen", kind=SittingKind.REPEAT))
    trays = right_and_wrong("kitchen", 6, 8, taster="Fir")
    trays += right_and_wrong("kitchen", 2, 8, taster="Oak")
    first, second = found(evening(compared, trays))
    assert (first.group, first.taster, first.correct, first.tasters) == (Group.REPEAT, 1, 6, 8)
    assert first.verdict is Verdict.SHOWN  # P(X >= 6 | 8, 1/3) = 0.020, by scipy.stats
    assert stats.binom.sf(5, 8, 1 / 3) == pytest.approx(0.0197, abs=1e-4)
    assert (second.taster, second.correct, second.verdict) == (2, 2, Verdict.NOT_SHOWN)


def test_fewer_than_guessing_is_noticed():
    assert one(Plan(method="triangle"), 2, 36).below_guessing
    assert not one(Plan(method="triangle"), 12, 36).below_guessing
    assert not one(Plan(method="paired-preference", aim=Aim.PREFERENCE), 1, 36).below_guessing
