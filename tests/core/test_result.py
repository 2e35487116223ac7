"""The whole result, and what it must not hold."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest
from scipy import stats

from panel.core.amendment import Amendment
from panel.core.guessing import guessing_distribution
from panel.core.names import Information, SittingKind
from panel.core.outcomes import Group
from panel.core.result import Result, result_of
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


def result(event: Evening, *amendments: Amendment) -> Result:
    return result_of(event.comparison, event.key, event.trays, event.ballots, amendments)


def test_it_holds_everything_that_is_said():
    known = result(two_tables(told=2))
    assert [finding.group for finding in known.findings] == [
        Group.BLINDED,
        Group.INFORMED,
        Group.TOLD,
    ]
    assert len(known.differences) == 1
    assert {caution.id for caution in known.cautions} == {
        "told-at-the-table",
        "informed-knew",
        "groups-not-drawn",
        "small-panel",
    }
    assert known.flow.counted == 48
    assert known.plan.limit == Fraction(3, 10)
    assert known.plan.planned is not None
    assert known.plan.planned.decisive == 18
    assert known.seal is not None
    assert known.seal.before_serving


def test_a_seal_made_after_opening_is_said_to_be_late():
    event = two_tables()
    assert event.comparison.seal is not None
    late = replace(event.comparison.seal, made=NOON + timedelta(hours=8))
    known = result(replace(event, comparison=replace(event.comparison, seal=late)))
    assert known.seal is not None
    assert not known.seal.before_serving


def test_no_nickname_is_published():
    fir = times(3, Answered(sitting="blue", taster="Firwood"))
    assert "Firwood" not in repr(result(evening(comparison(), fir)))


def test_trays_that_were_looked_at_early_are_said():
    kitchen = comparison(None, sitting("kitchen", kind=SittingKind.REPEAT))
    event = evening(kitchen, right_and_wrong("kitchen", 3, 8))
    facts = (event.comparison, event.key, event.trays, event.ballots)
    assert "feedback" not in {caution.id for caution in result_of(*facts).cautions}
    looked = result_of(*facts, (), frozenset({1, 2}))
    assert "feedback" in {caution.id for caution in looked.cautions}


def test_amendments_stand_in_their_order():
    later = Amendment(number=2, made=NOON, what="b", reason="b")
    first = Amendment(number=1, made=NOON, what="a", reason="a")
    known = result(two_tables(), later, first)
    assert [amendment.number for amendment in known.amendments] == [1, 2]


def test_the_finding_that_speaks_first():
    kitchen = sitting("kitchen", kind=SittingKind.REPEAT)
    green = sitting("green", Information.INFORMED)
    blinded = result(two_tables()).main
    assert blinded is not None
    assert blinded.group is Group.BLINDED
    compared = comparison(None, sitting("blue"), green, kitchen)
    only_informed = result(evening(compared, right_and_wrong("green", 2, 6))).main
    assert only_informed is not None
    assert only_informed.group is Group.INFORMED
    nobody = result(evening(comparison(), [])).main
    assert nobody is not None
    assert nobody.tasters == 0
    assert result(replace(evening(comparison(), []), comparison=no_sittings())).main is None


def no_sittings():
    return replace(comparison(), sittings=())


@pytest.mark.parametrize(
    ("tasters", "chance"), [(1, "1/3"), (36, "1/3"), (60, "1/2"), (500, "1/6")]
)
def test_guessing_by_scipy(tasters, chance):
    p = Fraction(chance)
    by_scipy = stats.binom.pmf(range(tasters + 1), tasters, float(p))
    assert guessing_distribution(tasters, p) == pytest.approx(list(by_scipy), rel=1e-9, abs=1e-300)
