"""A split sitting from its plan to its result: two groups at one table, compared as drawn."""

from dataclasses import replace

import pytest

from panel.core.blinded_view import blinded_view
from panel.core.comparison import Sitting
from panel.core.difference import Basis
from panel.core.drafts import check_sitting
from panel.core.errors import RefusalsError
from panel.core.names import Information, Knew, SittingKind
from panel.core.outcomes import Group
from panel.core.plan import Plan
from panel.core.readiness import obstacles
from panel.core.result import Result, result_of
from panel.core.turnout import planned_tasters
from panel.core.wording import say_difference
from tests.core.invented import a_comparison, a_sitting
from tests.results import Answered, comparison, evening, right_and_wrong, sitting, times

TOLD = "One was conditioned in the bottle, the other in the keg."
HALVED = replace(sitting("blue", Information.SPLIT, planned=24), told=TOLD)


def split_result(*others: Sitting, told: int = 0, plan: Plan | None = None) -> Result:
    """Trays 1 to 12 are informed, 9 of them right; 13 to 24 blinded, 4 right; `told` more of the
    blinded were told at the table, all right."""
    compared = comparison(plan or Plan(method="triangle", tasters=12), HALVED, *others)
    knew = Answered(sitting="blue", knew=(Knew.VARIABLE,))
    event = evening(
        compared,
        right_and_wrong("blue", 9, 12, knew=(Knew.VARIABLE,))
        + right_and_wrong("blue", 4, 12)
        + times(told, knew)
        + tuple(one for other in others for one in right_and_wrong(other.id, 2, 6)),
    )
    return result_of(
        event.comparison,
        event.key,
        event.trays,
        event.ballots,
        informed=frozenset(range(1, 13)),
    )


def counts(result: Result) -> dict[str, tuple[int, int]]:
    return {finding.id: (finding.correct, finding.tasters) for finding in result.findings}


def test_lots_part_the_table_and_nobody_informed_leaves_for_knowing():
    result = split_result()
    assert counts(result) == {"blinded": (4, 12), "informed": (9, 12)}
    informations = [finding.information for finding in result.findings]
    assert informations == [Information.BLINDED, Information.INFORMED]
    assert "groups-not-drawn" not in {caution.id for caution in result.cautions}


def test_the_told_stand_apart_and_are_compared_in_the_group_they_were_drawn_for():
    result = split_result(told=3)
    assert counts(result) == {"blinded": (4, 12), "informed": (9, 12), "told-at-the-table": (3, 3)}
    (difference,) = result.differences
    assert difference.drawn
    assert difference.whole
    assert (difference.informed_correct, difference.informed_tasters) == (9, 12)
    assert (difference.blinded_correct, difference.blinded_tasters) == (7, 15)
    finding = result.of(Group.BLINDED)[0]
    said = " ".join(map(str, say_difference(difference, finding, comparison())))
    assert "Lots decided who was told" in said


def test_beside_a_table_without_lots_the_split_one_keeps_its_own_difference():
    """The blinded of the plain table are in the blinded total, and in no comparison by lot."""
    result = split_result(sitting("red"))
    assert counts(result) == {"blinded": (6, 18), "informed": (9, 12)}
    (difference,) = result.differences
    assert (difference.basis, difference.sittings) == (Basis.SPLIT, ("blue",))
    assert (difference.informed_correct, difference.informed_tasters) == (9, 12)
    assert (difference.blinded_correct, difference.blinded_tasters) == (4, 12)
    assert not difference.whole
    said = " ".join(map(str, say_difference(difference, result.findings[0], comparison())))
    assert said.startswith(
        "In the sitting that was split by lot: Of those who knew, 9 of 12; of those who did not, "
        "4 of 12."
    )
    (caution,) = [one for one in result.cautions if one.id == "groups-not-drawn"]
    assert "some of the sittings only" in str(caution.title)


def test_beside_two_tables_without_lots_there_are_two_differences():
    result = split_result(sitting("red"), sitting("green", Information.INFORMED), told=2)
    split, other = result.differences
    assert (split.basis, other.basis) == (Basis.SPLIT, Basis.NOT_DRAWN)
    assert (split.informed_tasters, split.blinded_tasters) == (12, 14)
    assert (other.informed_correct, other.informed_tasters) == (2, 6)
    assert (other.blinded_correct, other.blinded_tasters) == (2, 6)
    assert other.sittings == ("red", "green")


def test_split_sittings_kept_apart_have_a_difference_each():
    plan = Plan(method="triangle", tasters=6, join_sittings=False)
    other = replace(HALVED, id="red", name="The red table")
    compared = comparison(plan, HALVED, other)
    event = evening(
        compared,
        right_and_wrong("blue", 4, 6)
        + right_and_wrong("blue", 2, 6)
        + right_and_wrong("red", 3, 4)
        + right_and_wrong("red", 1, 4),
    )
    result = result_of(
        event.comparison,
        event.key,
        event.trays,
        event.ballots,
        informed=frozenset({*range(1, 7), *range(13, 17)}),
    )
    assert [
        (one.sittings, one.informed_tasters, one.blinded_tasters) for one in result.differences
    ] == [(("blue",), 6, 6), (("red",), 4, 4)]
    assert all(one.whole for one in result.differences)


def test_kept_apart_each_sitting_has_its_own_groups():
    plan = Plan(method="triangle", tasters=6, join_sittings=False)
    assert counts(split_result(sitting("red"), plan=plan)) == {
        "blinded-blue": (4, 12),
        "blinded-red": (2, 6),
        "informed": (9, 12),
    }


def test_the_plan_counts_the_blinded_half():
    split = a_sitting(information=Information.SPLIT, planned=25, told=TOLD)
    assert planned_tasters(a_comparison(sittings=(split,))) == 12
    both = (split, a_sitting(id="sitting00002", name="Other", planned=8))
    assert planned_tasters(a_comparison(sittings=both)) == 20
    apart = replace(a_comparison(sittings=both), plan=Plan(method="triangle", join_sittings=False))
    assert planned_tasters(apart) == 8


def test_a_split_sitting_needs_its_words_and_two_trays():
    def fields(**changes: object) -> set[str]:
        split = a_sitting(information=Information.SPLIT, **changes)
        return {one.field for one in obstacles(a_comparison(sittings=(split,))) if one.blocking}

    assert "told" in fields()
    assert not fields(told=TOLD)
    assert "planned" in fields(told=TOLD, planned=1)


@pytest.mark.parametrize("kind", [SittingKind.PARCEL, SittingKind.REPEAT])
def test_only_a_table_can_be_split(kind):
    split = a_sitting(information=Information.SPLIT, told=TOLD, kind=kind)
    with pytest.raises(RefusalsError) as refused:
        check_sitting(split, a_comparison(sittings=()))
    assert [one.field for one in refused.value.refusals] == ["information"]


def test_blinded_people_may_know_that_it_is_split_and_not_with_what_words():
    seen = blinded_view(a_comparison(sittings=(replace(HALVED, id="sitting00001"),))).sittings[0]
    assert seen.information is Information.SPLIT
    assert seen.told == ""
