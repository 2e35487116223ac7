"""Repeat trials of several tasters, and parts of one total: counts, tests, words."""

from itertools import chain

import pytest
from scipy import stats

from panel.core.alike import Parts
from panel.core.names import Information, SittingKind
from panel.core.plan import Plan
from panel.core.result import Result, result_of
from panel.core.wording import rows_of_alike, rows_of_repeats, say_alike, say_repeats
from tests.core.wording.banned import BANNED, STATISTICIANS
from tests.results import Evening, comparison, evening, right_and_wrong, sitting

KITCHEN = sitting("kitchen", kind=SittingKind.REPEAT)


def told(event: Evening) -> Result:
    return result_of(event.comparison, event.key, event.trays, event.ballots)


def trials(*counts: tuple[int, int], plan: Plan | None = None) -> Evening:
    rows = (
        right_and_wrong("kitchen", right, trays, taster=f"w{number}")
        for number, (right, trays) in enumerate(counts)
    )
    return evening(comparison(plan, KITCHEN), chain.from_iterable(rows))


def test_of_several_tasters_only_the_sum_against_chance_is_tested():
    result = told(trials((7, 8), (2, 8), (3, 8)))
    (known,) = result.repeats
    assert known.counts == ((7, 8), (2, 8), (3, 8))
    assert (known.correct, known.trays) == (12, 24)
    expected = stats.binomtest(12, 24, 1 / 3, alternative="greater").pvalue
    assert known.together.p_value == pytest.approx(expected)
    assert [finding.tasters for finding in result.findings if finding.taster] == [8, 8, 8]


def test_what_is_said_of_them():
    event = trials((7, 8), (2, 8), (3, 8))
    result = told(event)
    (known,) = result.repeats
    text = " ".join(map(str, say_repeats(known, result.findings[-1], event.comparison)))
    assert "In their 24 trays together the 3 tasters found the odd cup 12 times." in text
    assert "Trays of one taster are not so many tasters" in text
    assert not BANNED.search(text)
    assert not STATISTICIANS.search(text)
    rows = "\n".join(f"{row.label}: {row.value}" for row in rows_of_repeats(known))
    assert "Correct by taster: 7/8, 2/8, 3/8" in rows
    assert "Tarone's Z" in rows


@pytest.mark.parametrize(
    ("counts", "words"),
    [
        (((8, 8), (0, 8), (8, 8), (1, 8)), "they differ more than chance would make"),
        (((4, 8), (3, 8), (5, 8)), "they differ no more than chance makes"),
    ],
)
def test_whether_they_differ(counts, words):
    event = trials(*counts)
    result = told(event)
    (known,) = result.repeats
    assert words in " ".join(map(str, say_repeats(known, result.findings[-1], event.comparison)))


def test_two_sides_count_the_beer_and_take_no_chance_out():
    plan = Plan(method="paired", sides=2, attribute="bitter")
    event = trials((7, 8), (1, 8), plan=plan)
    result = told(event)
    (known,) = result.repeats
    assert known.together.p_value == 1.0
    assert known.fitted is not None
    assert known.fitted.mean == pytest.approx(0.5, abs=1e-4)
    text = " ".join(map(str, say_repeats(known, result.findings[-1], event.comparison)))
    assert "a sum as uneven" in text


def test_one_taster_has_nothing_together():
    assert told(trials((7, 8))).repeats == ()


def sittings(*counts: tuple[int, int], join: bool = True) -> Evening:
    tables = [sitting(f"table{number}") for number in range(len(counts))]
    rows = (
        right_and_wrong(table.id, right, tasters)
        for table, (right, tasters) in zip(tables, counts, strict=True)
    )
    return evening(comparison(Plan(method="triangle", join_sittings=join), *tables), chain(*rows))


def test_sittings_of_one_total_are_held_against_each_other():
    event = sittings((9, 12), (2, 12))
    result = told(event)
    known = next(one for one in result.alike if one.by is Parts.SITTINGS)
    assert known.counts == ((9, 12), (2, 12))
    assert known.even.p_value == pytest.approx(stats.fisher_exact([[9, 2], [3, 10]]).pvalue)
    text = " ".join(map(str, say_alike(known, event.comparison)))
    assert "The table0 table: 9/12; The table1 table: 2/12." in text
    assert "a mean of sittings that were not alike" in text
    assert not BANNED.search(text)
    even = told(sittings((5, 12), (4, 12)))
    assert "The table0 table: 9/12" in str(rows_of_alike(known, event.comparison)[0].value)
    words = say_alike(even.alike[0], event.comparison)
    assert "nothing speaks against one total" in str(words[-1])


def test_sittings_kept_apart_have_no_total():
    result = told(sittings((9, 12), (2, 12), join=False))
    assert not [one for one in result.alike if one.by is Parts.SITTINGS]


def test_blinded_and_informed_are_never_parts_of_one_total():
    blue, green = sitting("blue"), sitting("green", Information.INFORMED)
    rows = chain(right_and_wrong("blue", 3, 12), right_and_wrong("green", 11, 12))
    result = told(evening(comparison(None, blue, green), rows))
    assert not [one for one in result.alike if one.by is Parts.SITTINGS]
    assert {one.stratum for one in result.alike} <= {"blinded", "informed"}


def test_serving_orders_stand_among_the_numbers_and_add_up():
    result = told(sittings((9, 24)))
    (known,) = result.alike
    assert known.by is Parts.ORDERS
    assert sum(x for x, _ in known.counts) == 9
    assert sum(n for _, n in known.counts) == 24
    ((row,),) = [rows_of_alike(known, comparison())]
    assert str(row.label) == "Correct by serving order"
    assert say_alike(known, comparison()) == ()
