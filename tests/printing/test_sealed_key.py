"""The sealed key and the hand tally: right by the standards' tables and by reading the orders."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from panel.core.methods import METHODS
from panel.core.names import Aim, Blinding
from panel.core.plan import Plan
from panel.printing.kinds import right_answers
from panel.printing.sealed_key import sealed_key
from panel.printing.tally_words import rows_of
from tests.core.invented import a_sitting
from tests.printing.papers import an_order, named_comparison, pages_of, plan_of, text_of, texts_of


@pytest.mark.parametrize("method", METHODS)
def test_every_tray_with_codes_and_beers(method):
    order, key = an_order(method)
    said = text_of(sealed_key(order, key))
    for tray in order.trays:
        line = " ".join(
            f"{code} {beer}" for code, beer in zip(tray.codes(), key[tray.number], strict=True)
        )
        assert f"{tray.number} {line}" in said


@pytest.mark.parametrize(
    ("method", "order", "right"),
    [
        ("triangle", "AAB", ((3,),)),
        ("triangle", "BAB", ((2,),)),
        ("duo-trio", "ABA", ((3,),)),
        ("duo-trio", "BBA", ((2,),)),
        ("3-afc", "ABA", ((2,),)),
        ("paired", "AB", ((2,),)),
        ("tetrad", "ABAB", ((1, 3), (2, 4))),
        ("tetrad-specified", "ABBA", ((2, 3),)),
        ("two-out-of-five", "ABAAB", ((2, 5),)),
        ("two-out-of-five", "ABBAB", ((1, 4),)),
        ("paired-preference", "BA", ((2,),)),
    ],
)
def test_right_answers_as_one_reads_the_order(method, order, right):
    comparison = named_comparison(method)
    assert right_answers(comparison, order) == right


def test_the_answer_stands_at_the_end_of_the_line():
    order, key = an_order(planned=6, spares=0)
    said = text_of(sealed_key(order, key))
    for tray in order.trays:
        beers = key[tray.number]
        odd = next(place for place in range(3) if beers.count(beers[place]) == 1)
        last = f"{tray.codes()[2]} {beers[2]} {tray.codes()[odd]}"
        assert last in said


def test_critical_numbers_of_a_published_table():
    """Huss 1995, FAO Fisheries Technical Paper 348, Appendix A: triangle at 5 %."""
    published = {3: 3, 5: 4, 10: 7, 15: 9, 20: 11, 24: 13, 30: 15, 36: 18, 42: 20, 54: 25, 60: 27}
    rows = {row.tasters: row.critical_number for row in rows_of(Plan(method="triangle"))}
    assert {n: rows[n] for n in published} == published
    assert set(rows) == set(range(3, 61))


def test_critical_numbers_of_the_duo_trio():
    """ISO 10399:2004, Table A.1, at 5 %."""
    published = {6: 6, 10: 9, 20: 15, 30: 20, 40: 26, 60: 37}
    rows = {row.tasters: row.critical_number for row in rows_of(Plan(method="duo-trio"))}
    assert {n: rows[n] for n in published} == published


def test_the_tally_prints_the_table():
    said = texts_of(sealed_key(*an_order()))[-1]
    assert re.search(r"\b24 13\b", said)
    assert re.search(r"\b60 27\b", said)
    assert "at the 5% risk" in said


def test_a_count_that_convinces_nobody_is_a_dash():
    """(1/2)^3 and (1/2)^4 are above 5 %: no count of three or four pairs decides."""
    said = texts_of(sealed_key(*an_order("duo-trio")))[-1]
    assert re.search(r"\b3 –", said)
    assert re.search(r"\b4 –", said)
    assert "no verdict" in said


def test_similarity_is_read_the_other_way():
    plan = replace(plan_of("triangle"), aim=Aim.SIMILARITY, beta=Decimal("0.05"))
    said = texts_of(sealed_key(*an_order(comparison=named_comparison(plan=plan))))[-1]
    assert "at most" in said
    assert "or fewer" in said


def test_both_directions_take_the_larger_count():
    said = texts_of(sealed_key(*an_order("paired-preference")))[-1]
    assert "whichever are more" in said


def test_joined_sittings_are_added_first():
    comparison = named_comparison()
    order, key = an_order()
    two = replace(comparison, sittings=(a_sitting(planned=12), a_sitting(id="2", name="Later")))
    said = texts_of(sealed_key(replace(order, comparison=two), key))[-1]
    assert "add their cards first" in said


def test_the_outside_shows_nothing_and_says_when_to_open():
    order, key = an_order()
    outside, *_inside = texts_of(sealed_key(order, key))
    assert "Do not open before the last sitting" in outside
    assert "fold here" in outside
    assert "Saison" not in outside.replace("Two saisons", "")
    assert "Tape the three open sides" in outside


def test_triple_blinding_adds_the_cover_names():
    order, key = an_order(comparison=named_comparison(blinding=Blinding.TRIPLE))
    said = text_of(sealed_key(order, key))
    assert "A is Saison kept at 19, poured as Heron." in said


def test_pages_of_a_small_evening():
    assert pages_of(sealed_key(*an_order(planned=36))) == 3
