"""Findings of hits and false alarms: what is counted, which test decides, what may be said."""

from dataclasses import replace
from decimal import Decimal

import pytest
from scipy import stats

from panel.core.detection import DetectionFinding
from panel.core.detection_difference import DetectionDifference
from panel.core.detection_planning import planned_rates
from panel.core.errors import PanelError
from panel.core.findings import Verdict
from panel.core.kinds import check_size, found_in, outlook_of
from panel.core.methods import METHODS
from panel.core.names import Information, Knew, Outcome, SittingKind
from panel.core.outcomes import Group, outcomes_of
from panel.core.plan import Plan
from panel.core.result import Result, result_of
from panel.core.statistics import Rates, power_of_groups
from panel.core.wording import (
    rows_for_all,
    rows_for_statisticians,
    say_difference,
    say_finding,
    say_with_told,
)
from panel.publishing.figures import detection_chart
from panel.publishing.schema import result_words
from tests.core.wording.banned import BANNED, STATISTICIANS
from tests.kinds import DETECTION
from tests.results import Answered, Evening, comparison, evening, sitting, times

RIGHT, WRONG = Outcome.RIGHT, Outcome.WRONG

ORDERS = {
    "a-not-a": (("AA",), ("AB",)),
    "a-not-a-both": (("AAB", "ABA"), ("AAB", "ABA")),
    "same-different": (("AB", "BA"), ("AA", "BB")),
}
"""Trays on which the answer in question is true, and trays on which it is not."""


def signs(
    method: str, hits: int, targets: int, alarms: int, others: int, **common: object
) -> tuple[Answered, ...]:
    """Trays of a method with one answer each: so many called so of either kind."""
    of, beside = ORDERS[method]
    made = []
    for number in range(targets):
        outcome = RIGHT if number < hits else WRONG
        made.append(Answered(sitting="blue", order=of[number % len(of)], outcome=outcome))
    for number in range(others):
        outcome = WRONG if number < alarms else RIGHT
        made.append(Answered(sitting="blue", order=beside[number % len(beside)], outcome=outcome))
    return tuple(replace(one, **common) for one in made)


def plan_of(method: str, **more: object) -> Plan:
    return Plan(method=method, tasters=24, **more)  # type: ignore[arg-type]


def result(event: Evening) -> Result:
    return result_of(event.comparison, event.key, event.trays, event.ballots)


def finding(method: str, *counts: int, **common: object) -> DetectionFinding:
    event = evening(comparison(plan_of(method)), signs(method, *counts, **common))
    found = result(event).main
    assert isinstance(found, DetectionFinding)
    return found


@pytest.mark.parametrize("method", ["a-not-a", "same-different"])
def test_hits_and_false_alarms_are_counted_from_the_key(method):
    found = finding(method, 9, 12, 4, 12)
    assert found.rates == Rates(9, 12, 4, 12)
    assert (found.tasters, found.verdict) == (24, Verdict.SHOWN)
    assert found.test.p_value == pytest.approx(stats.hypergeom.sf(8, 24, 12, 13))
    assert found.power == power_of_groups(12, 12, 0.65, 0.35, Decimal("0.05"))
    assert finding(method, 8, 12, 4, 12).verdict is Verdict.NOT_SHOWN


def test_pairs_are_counted_by_taster():
    """Right of both is a hit and no false alarm; the first wrong answer of the builder is A of
    both cups, a hit and a false alarm."""
    event = evening(
        comparison(plan_of("a-not-a-both")),
        (*times(7, Answered(sitting="blue")), *times(3, Answered(sitting="blue", outcome=WRONG))),
    )
    found = result(event).main
    assert isinstance(found, DetectionFinding)
    rates = found.rates
    assert (rates.targets, rates.others, found.tasters) == (10, 10, 10)
    assert rates.first_only == 7
    assert rates.hits - rates.first_only == rates.false_alarms - rates.second_only
    assert found.test.p_value == pytest.approx(
        stats.binom.sf(6, 7 + rates.second_only, 0.5), rel=1e-9
    )


def test_too_few_can_decide_nothing():
    found = finding("a-not-a", 2, 2, 0, 2)
    assert (found.verdict, found.fewest) == (Verdict.TOO_FEW, 6)
    text = " ".join(map(str, say_finding(found, comparison(plan_of("a-not-a"))).then))
    assert "at least 6" in text
    one_sided = finding("same-different", 3, 4, 0, 0)
    assert (one_sided.verdict, one_sided.test) == (Verdict.TOO_FEW, None)


def test_more_false_alarms_than_hits_are_a_grave_caution():
    event = evening(comparison(plan_of("same-different")), signs("same-different", 2, 12, 11, 12))
    said = result(event)
    assert said.main.below_guessing
    assert "fewer-than-guessing" in [caution.id for caution in said.cautions]
    text = " ".join(map(str, say_finding(said.main, event.comparison).then))
    assert "mixed up" in text


def test_that_both_cups_were_asked_about_is_a_caution():
    for method, speaks in (("a-not-a", False), ("a-not-a-both", True)):
        event = evening(comparison(plan_of(method)), times(8, Answered(sitting="blue")))
        ids = [caution.id for caution in result(event).cautions]
        assert ("both-asked" in ids) is speaks


def test_who_was_told_at_the_table_stands_apart():
    told = replace(Answered(sitting="blue", order="AA"), knew=(Knew.VARIABLE,))
    event = evening(
        comparison(plan_of("a-not-a")), (*signs("a-not-a", 8, 12, 4, 12), *times(3, told))
    )
    found = result(event)
    assert [one.group for one in found.findings] == [Group.BLINDED, Group.TOLD]
    blinded, apart = found.findings
    assert blinded.rates == Rates(8, 12, 4, 12)
    assert blinded.with_told.rates == Rates(11, 15, 4, 12)
    assert (apart.verdict, apart.planned) == (Verdict.COUNT_ONLY, False)


def test_informed_and_blinded_are_compared_by_their_hits_minus_false_alarms():
    compared = comparison(
        plan_of("a-not-a"), sitting("blue"), sitting("green", Information.INFORMED)
    )
    informed = tuple(replace(one, sitting="green") for one in signs("a-not-a", 10, 10, 1, 10))
    found = result(evening(compared, (*signs("a-not-a", 6, 12, 6, 12), *informed)))
    (difference,) = found.differences
    assert isinstance(difference, DetectionDifference)
    assert difference.compared.difference == pytest.approx(0.9)
    assert difference.strong(0.05)
    assert difference.whole
    assert not difference.drawn
    assert {one.group for one in found.findings} == {Group.BLINDED, Group.INFORMED}


@pytest.mark.parametrize(("hits", "alarms"), [(10, 1), (5, 5), (1, 9), (10, 10)])
def test_what_knowing_does_claims_no_more_than_it_may(hits, alarms):
    compared = comparison(
        plan_of("same-different"), sitting("blue"), sitting("green", Information.INFORMED)
    )
    knew = replace(Answered(sitting="blue", order="AB"), knew=(Knew.HELPED,))
    informed = signs("same-different", hits, 10, alarms, 10, sitting="green")
    mine = (*signs("same-different", 7, 12, 4, 12), *informed, *times(2, knew))
    found = result(evening(compared, mine))
    (difference,) = found.differences
    said = (
        *say_difference(difference, found.main, compared),
        *say_with_told(found.main, compared),
    )
    text = " ".join(map(str, said))
    assert not BANNED.search(text), text
    assert "%(" not in text
    assert ("is strong evidence" in text) is difference.strong(0.05)
    assert "With those who had been told at the table" in text
    assert "Nobody drew lots" in text


def test_repeat_trials_are_one_taster():
    table = sitting("blue", kind=SittingKind.REPEAT)
    found = result(evening(comparison(plan_of("a-not-a"), table), signs("a-not-a", 6, 6, 1, 6)))
    assert found.main.group is Group.REPEAT
    text = " ".join(map(str, say_finding(found.main, comparison(plan_of("a-not-a"))).lead))
    assert "The one taster" in text
    assert found.repeats == ()


@pytest.mark.parametrize("method", ["a-not-a", "same-different"])
def test_no_sentence_claims_too_much(method):
    """Every table up to seven and seven, every group: the rules of the wording."""
    for targets, others in ((7, 7), (7, 6), (3, 3), (1, 4)):
        for hits in range(targets + 1):
            for alarms in range(others + 1):
                known = finding(method, hits, targets, alarms, others)
                for group in Group:
                    one = replace(known, group=group)
                    said = say_finding(one, comparison(plan_of(method)))
                    text = " ".join(map(str, (*said.lead, *said.then)))
                    assert not BANNED.search(text), text
                    assert not STATISTICIANS.search(text), text
                    assert "%(" not in text
                verdict = known.verdict is Verdict.NOT_SHOWN and not known.below_guessing
                text = " ".join(map(str, say_finding(known, comparison(plan_of(method))).then))
                assert ("not strong evidence" in text) is verdict, text
                assert ("locked beforehand" in text) is (known.verdict is Verdict.SHOWN), text


@pytest.mark.parametrize("method", DETECTION)
def test_rows_figure_and_data_are_there_and_agree(method):
    counts = (10, 12, 3, 12)
    if method == "a-not-a-both":
        answered = (
            *times(9, Answered(sitting="blue")),
            *times(3, Answered(sitting="blue", outcome=WRONG)),
        )
    else:
        answered = signs(method, *counts)
    event = evening(comparison(plan_of(method)), answered)
    found = result(event)
    main = found.main
    for rows in (
        rows_for_all(main, event.comparison),
        rows_for_statisticians(main, event.comparison),
    ):
        assert len(rows) >= 4
        assert not any("%(" in f"{row.label} {row.value}" for row in rows)
    figure = detection_chart(main, str)
    assert figure is not None
    assert len(figure.rows) == 2
    assert all(len(row) == len(figure.columns) for row in figure.rows)
    words = result_words(found, event.comparison)
    data = words["findings"][0]
    assert data["hits"] == [main.rates.hits, main.rates.targets]
    assert data["false alarms"] == [main.rates.false_alarms, main.rates.others]
    assert data["p"] == main.test.p_value
    assert data["d-prime interval"]["method"] == str(main.sensitivity.d_prime.interval.method)
    assert words["plan"]["chance"] is None


def test_rates_of_one_and_nought_have_no_end_and_say_so():
    rows = rows_for_statisticians(finding("a-not-a", 12, 12, 0, 12), comparison())
    (d_prime,) = [str(row.value) for row in rows if "d-prime" in str(row.label)]
    assert d_prime.startswith("∞ (")
    assert d_prime.endswith("to ∞)")


def test_how_readily_they_say_it_is_said_apart():
    quick = finding("a-not-a", 12, 12, 8, 12)
    slow = finding("a-not-a", 5, 12, 0, 12)
    for found, word in ((quick, "quick to say “A”"), (slow, "slow to say “A”")):
        text = " ".join(map(str, say_finding(found, comparison(plan_of("a-not-a"))).then))
        assert word in text
    fair = " ".join(map(str, say_finding(finding("a-not-a", 9, 12, 3, 12), comparison()).then))
    assert "quick" not in fair
    assert "slow" not in fair


# --- planning -------------------------------------------------------------------------------------


def test_a_share_of_people_who_tell_is_hits_minus_false_alarms():
    for name in DETECTION:
        hit, alarm = planned_rates(plan_of(name, pd=Decimal("0.3")), METHODS[name])
        assert (hit, alarm) == (pytest.approx(0.65), pytest.approx(0.35))


def test_an_outlook_says_whether_it_can_be_answered():
    few = outlook_of(plan_of("a-not-a", pd=None, d_prime=Decimal(1)))
    assert not few.can_answer
    assert few.needed.holding_tasters == 50
    assert str(few.verdict).startswith("Not reliably: with 24 tasters")
    enough = outlook_of(
        replace(plan_of("a-not-a", pd=None, d_prime=Decimal(2)), tasters=40, expected=40)
    )
    assert enough.can_answer
    hopeless = outlook_of(plan_of("same-different", pd=None, d_prime=Decimal("0.3")))
    assert hopeless.needed is None
    assert not outlook_of(replace(plan_of("a-not-a"), tasters=4)).planned.can_decide


def test_a_difference_too_small_to_reckon_with_is_refused():
    with pytest.raises(PanelError):
        check_size(plan_of("a-not-a", pd=None, d_prime=None))
    check_size(plan_of("same-different", pd=None, d_prime=Decimal("1.5")))


def test_sittings_and_repeats_are_not_held_together():
    """Neither right answers by sitting nor places are compared: the docs say so."""
    compared = comparison(plan_of("a-not-a"), sitting("blue"), sitting("green"))
    event = evening(
        compared,
        (
            *signs("a-not-a", 6, 6, 1, 6),
            *(replace(one, sitting="green") for one in signs("a-not-a", 6, 6, 1, 6)),
        ),
    )
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    found = found_in(event.comparison, outcomes)
    assert (found.alike, found.repeats, found.steps) == ((), (), ())
    assert found.findings[0].rates == Rates(12, 12, 2, 12)
