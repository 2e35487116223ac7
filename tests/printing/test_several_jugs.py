"""Mats and pour sheets of more than two drinks: every jug has its name, its place and its log."""

from dataclasses import replace
from decimal import Decimal

import pytest

from panel.core.comparison import Beer
from panel.core.names import SittingKind
from panel.core.statistics.hand_ranks import hand_rank_rows
from panel.printing.hand_tally import hand_tally_page
from panel.printing.pour_mat import jugs_of, pour_mat_pages, pour_mats
from panel.printing.pour_sheet import pour_sheet
from panel.printing.repeat_sheet import repeat_pages, repeat_sheet
from panel.printing.sealed_key import sealed_key
from panel.printing.sheet import waves_of
from tests.printing.papers import an_order, circles, named_comparison, plan_of, text_of, texts

NAMES = ("Alder", "Birch", "Cedar", "Damson", "Elder", "Fir", "Gorse", "Hazel")


def several(drinks: int, cups: int = 0, **sitting: object):
    """An order of so many drinks, of which a taster gets so many cups."""
    beers = tuple(
        Beer(letter=letter, name=name, value=f"Y{letter}", abv=Decimal("5.1"), cover_name=name)
        for letter, name in zip("ABCDEFGH", NAMES[:drinks], strict=False)
    )
    plan = replace(plan_of("ranking"), drinks=drinks, cups=cups)
    return an_order(
        "ranking", comparison=named_comparison("ranking", beers=beers, plan=plan), **sitting
    )


@pytest.mark.parametrize(("drinks", "cups"), [(3, 0), (4, 0), (6, 0), (8, 4)])
def test_the_legend_names_every_jug_in_the_order_of_its_wave(drinks, cups):
    order, key = several(drinks, cups)
    pages = pour_mat_pages(order, key)
    first = [text.text for text in texts(pages[0])]
    assert "In this wave start with Alder" in first
    for name in NAMES[1:drinks]:
        assert f"then {name}" in first
    said = " ".join(first)
    assert said.index("start with Alder") < said.index("then Birch") < said.index("then Cedar")
    assert "One jug after another" in said
    assert "second jug" not in said


def test_the_jug_that_goes_first_changes_with_the_wave():
    order, _key = several(4)
    firsts = [
        min(jugs, key=jugs.__getitem__)
        for jugs in (jugs_of(order.comparison, wave) for wave in range(1, 6))
    ]
    assert firsts == ["A", "B", "C", "D", "A"]


@pytest.mark.parametrize("drinks", [3, 6])
def test_jugs_from_the_third_on_are_told_by_their_number(drinks):
    order, key = several(drinks, planned=6, spares=0)
    jugs = jugs_of(order.comparison, 1)
    said = [text.text for page in pour_mat_pages(order, key) for text in texts(page)]
    for letter, jug in jugs.items():
        cups = sum(one.count(letter) for one in (key[tray.number] for tray in order.trays))
        if jug > 2:
            legends = len(pour_mat_pages(order, key))
            trays = sum(str(tray.number) == str(jug) for tray in order.trays)
            on_pages = sum(text == str(jug) for text in said)
            assert on_pages == cups + legends + trays


@pytest.mark.parametrize("kind", SittingKind)
def test_every_kind_of_sitting_says_how_many_jugs_are_poured(kind):
    order, key = several(5, 3, kind=kind)
    assert "One jug after another" in text_of(pour_mats(order, key)).replace("\n", " ")


def test_the_pour_sheet_logs_each_wave_and_each_container():
    order, key = several(4, planned=12, spares=0)
    said = text_of(pour_sheet(order, key))
    assert "All from one fridge or bath" in said
    for wave, trays in waves_of(order.trays).items():
        jugs = jugs_of(order.comparison, wave)
        in_turn = sorted(jugs, key=jugs.__getitem__)
        cups = "+".join(
            str(sum(key[tray.number].count(letter) for tray in trays)) for letter in in_turn
        )
        assert f"{NAMES['ABCD'.index(in_turn[0])]} {cups}" in said
    for name in NAMES[:4]:
        assert f"{name} 1" in said
        assert f"{name} 2" in said
    assert "Pair" not in said


def test_the_key_has_no_right_answer_and_the_tally_adds_places_up():
    order, key = several(4)
    said = text_of(sealed_key(order, key))
    assert "No order is a wrong one" in said
    tally = " ".join(text.text for text in texts(hand_tally_page(order)))
    for letter in "ABCD":
        assert f"Sum of the places of {letter}" in tally


@pytest.mark.parametrize(
    ("drinks", "cups", "step", "tasters", "apart"),
    [
        # Basker 1988 prints 14.8 and 21.0 (from memory); sums are whole numbers.
        (3, 3, 1, 20, 15),
        (4, 4, 1, 20, 21),
        (3, 3, 1, 3, 6),  # 5.74: only the widest there is
        (3, 3, 1, 4, 7),
        (
            7,
            3,
            7,
            14,
            10,
        ),  # q = 4.170 (Pearson & Hartley, from memory), times the root of 4 x 2 x 7 / 12
    ],
)
def test_by_how_much_sums_must_differ(drinks, cups, step, tasters, apart):
    rows = {row.tasters: row for row in hand_rank_rows(drinks, cups, Decimal("0.05"), step)}
    assert rows[tasters].critical_number == apart


def test_ones_own_rounds_have_a_ring_to_write_in_for_every_cup():
    order, _key = several(6, kind=SittingKind.REPEAT, planned=8)
    said = text_of(repeat_sheet(order)).replace("\n", " ")
    assert "write the place of each into its ring" in said
    assert "sixth" in said
    assert "choose, and fill" not in said
    assert "Right, once the key is open" not in said
    (page,) = repeat_pages(order)
    rings = [circle for circle in circles(page) if circle.radius > 4]
    assert len(rings) == 8 * 6
