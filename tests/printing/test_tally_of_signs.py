"""The key and the tally by hand where hits are held against false alarms."""

from dataclasses import replace

import pytest
from scipy import stats

from panel.core.methods import method_named
from panel.core.methods.method import outcome_of
from panel.core.names import Outcome
from panel.core.possible_answers import possible_answers
from panel.printing.kinds import tally_of, true_answer
from panel.printing.sealed_key import sealed_key
from tests.kinds import DETECTION
from tests.printing.papers import an_order, named_comparison, text_of

CODES = ("482", "719", "253")


@pytest.mark.parametrize(
    ("method", "order", "answer"),
    [
        ("a-not-a", "AA", "A"),
        ("a-not-a", "AB", "not A"),
        ("a-not-a-both", "AAB", "719"),
        ("a-not-a-both", "ABA", "253"),
        ("same-different", "BB", "the same"),
        ("same-different", "BA", "different"),
    ],
)
def test_a_line_of_the_key_ends_with_what_is_true(method, order, answer):
    codes = CODES[: len(order)]
    assert true_answer(named_comparison(method), codes, order, str) == answer
    known = method_named(method)
    plan = named_comparison(method).plan
    right = [
        way
        for way in possible_answers(known.decides(plan), codes)
        if outcome_of(known, plan, order, codes, way) is Outcome.RIGHT
    ]
    assert len(right) == 1


def test_the_table_of_two_heaps_is_fishers_test():
    known = named_comparison("a-not-a")
    plan = replace(known.plan, tasters=21)
    tally = tally_of(replace(known, plan=plan))
    assert [row.tasters for row in tally.rows] == list(range(11))
    for row in tally.rows:
        for hits in range(12):
            table = [[hits, row.tasters], [11 - hits, 10 - row.tasters]]
            p = stats.fisher_exact(table, alternative="greater").pvalue
            reached = row.critical_number is not None and hits >= row.critical_number
            assert bool(p <= 0.05) is reached
    assert "11 cards in the first heap and 10 in the second" in str(tally.reading)


def test_the_table_of_pairs_is_the_one_of_a_coin():
    tally = tally_of(named_comparison("a-not-a-both"))
    for row in tally.rows:
        needed = row.critical_number
        if needed is None:
            assert stats.binom.sf(row.tasters - 1, row.tasters, 0.5) > 0.05
        else:
            assert stats.binom.sf(needed - 1, row.tasters, 0.5) <= 0.05
            assert stats.binom.sf(needed - 2, row.tasters, 0.5) > 0.05


@pytest.mark.parametrize("method", DETECTION)
def test_all_of_it_stands_on_the_sealed_key(method):
    order, key = an_order(method)
    said = text_of(sealed_key(order, key))
    assert "at the end the true answer" in said
    assert "Hand tally" in said
    assert "who found" not in said
