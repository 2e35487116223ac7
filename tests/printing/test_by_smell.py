"""Sheets where smelling is a step of its own: nobody is told to drink, both choices have a ring."""

import re
from dataclasses import replace

import pytest

from panel.core.names import Information, Paper, SittingKind, Smell
from panel.printing.parcel_sheet import parcel_sheets
from panel.printing.pour_sheet import pour_sheet
from panel.printing.repeat_sheet import repeat_pages, repeat_sheet
from panel.printing.sheet import Order
from panel.printing.sign_in_sheet import sign_in_sheet
from panel.printing.steward_page import steward_page
from panel.printing.told_slips import told_slips
from panel.printing.tray_mats import tray_mats
from tests.printing.papers import an_order, circles, text_of

MOUTH = re.compile(r"\b(sips?|spits?|swallows?|rinse|you taste|taste from)\b", re.IGNORECASE)


def smelled(smell: Smell, kind: SittingKind = SittingKind.TABLE, paper: Paper = Paper.A4):
    order, key = an_order(paper=paper)
    known = replace(order.comparison, plan=replace(order.comparison.plan, smell=smell))
    return replace(order, comparison=known, sitting=replace(order.sitting, kind=kind)), key


def split(order: Order) -> Order:
    told = replace(order.sitting, information=Information.SPLIT, told="One was kept warmer.")
    return replace(order, sitting=told)


@pytest.mark.parametrize("paper", Paper)
def test_where_nothing_is_drunk_no_sheet_speaks_of_drinking_it(paper: Paper) -> None:
    order, key = smelled(Smell.ONLY, paper=paper)
    parcel, _ = smelled(Smell.ONLY, SittingKind.PARCEL, paper)
    repeat, _ = smelled(Smell.ONLY, SittingKind.REPEAT, paper)
    sheets = (
        steward_page(order),
        pour_sheet(order, key),
        sign_in_sheet(order),
        tray_mats(order),
        told_slips(split(order), frozenset({1})),
        parcel_sheets(parcel),
        repeat_sheet(repeat),
    )
    for said in map(text_of, sheets):
        assert not MOUTH.search(said), MOUTH.search(said)


def test_the_pourer_is_told_of_lids_where_smell_is_asked_for() -> None:
    for smell in Smell:
        order, key = smelled(smell)
        assert ("put a lid on each" in text_of(pour_sheet(order, key))) is (
            smell is not Smell.WITH_TASTE
        )


def test_a_round_nose_first_has_a_ring_for_each_choice() -> None:
    once, _ = smelled(Smell.WITH_TASTE, SittingKind.REPEAT)
    twice, _ = smelled(Smell.FIRST, SittingKind.REPEAT)
    rings = [sum(len(list(circles(page))) for page in repeat_pages(one)) for one in (once, twice)]
    assert rings[1] == 2 * rings[0] > 0
    rounds = [tray for tray in twice.trays if not tray.spare]
    assert text_of(repeat_sheet(twice)).count("After tasting") > len(rounds)  # and in the rules
