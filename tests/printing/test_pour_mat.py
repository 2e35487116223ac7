"""Pour mats: every cup in its ring, every ring told by weight, every code in view."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.drawing import POINT, Face
from panel.core.errors import PanelError
from panel.core.methods import METHODS
from panel.core.names import Blinding, Paper, SittingKind
from panel.printing.fonts import text_width
from panel.printing.pour_mat import CODE_SIZE, grid_of, jugs_of, mat_area, pour_mat_pages, pour_mats
from panel.printing.rings import HEAVY, CupSize
from panel.printing.sheet import waves_of
from tests.printing.papers import an_order, circles, named_comparison, text_of, texts

LEGEND = 5.0  # rings of the legend are smaller than any cup's


def rings(page):
    """Rings of cups as (x, y): number of circles drawn there, and the heaviest line."""
    found = {}
    for circle in circles(page):
        if circle.radius > LEGEND:
            place = (round(circle.x, 3), round(circle.y, 3))
            lines, weight = found.get(place, (0, 0.0))
            found[place] = (lines + 1, max(weight, circle.width))
    return found


def codes(page):
    """Code texts as {code: (x of its middle, y)}."""
    found = {}
    for text in texts(page):
        if text.size == CODE_SIZE and len(text.text) == 3:
            wide = text_width(text.text, Face.BOLD, text.size) + 2 * text.tracking * POINT
            found[text.text] = (text.x + wide / 2, text.y)
    return found


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("method", METHODS)
def test_each_ring_is_the_jug_that_the_key_says(method, paper):
    order, key = an_order(method, paper=paper)
    waves = waves_of(order.trays)
    seen = {}
    for page in pour_mat_pages(order, key):
        under = codes(page)
        for code, (x, y) in under.items():
            above = [place for place in rings(page) if abs(place[0] - x) < 0.01 and place[1] < y]
            place = max(above, key=lambda one: one[1])
            assert y - place[1] < 40
            seen[code] = rings(page)[place]
    for wave, trays in waves.items():
        jugs = jugs_of(order.comparison, wave)
        for tray in trays:
            for code, beer in zip(tray.codes(), key[tray.number], strict=True):
                lines, weight = seen[code]
                assert (lines, weight == HEAVY) == ((1, True) if jugs[beer] == 1 else (2, False))
    assert len(seen) == sum(len(tray.cups) for tray in order.trays)


@pytest.mark.parametrize("paper", Paper)
def test_six_trays_of_three_cups_stand_on_one_page(paper):
    order, key = an_order(paper=paper, planned=24, spares=0)
    assert len(pour_mat_pages(order, key)) == 4


def test_larger_cups_take_more_pages():
    order, key = an_order(planned=6, spares=0)
    assert len(pour_mat_pages(order, key, CupSize(44, 62))) == 3


def test_cups_that_no_paper_holds_are_refused():
    order, key = an_order("tetrad")
    with pytest.raises(PanelError, match="do not fit beside one another") as refused:
        pour_mat_pages(order, key, CupSize(60, 80))
    assert refused.value.field == "rim"


@given(base=st.floats(20, 60), more=st.floats(0, 25), cups=st.integers(2, 4))
def test_no_two_cups_touch_and_none_leaves_the_mat(base, more, cups):
    order, _key = an_order()
    area = mat_area(order.page(landscape=True), 4.0)
    cup = CupSize(base, base + more)
    try:
        grid = grid_of(area, cup, cups)
    except PanelError:
        return
    widest = max(cup.ring, cup.rim)
    assert grid.cup_pitch >= widest
    assert grid.row_pitch >= widest + 7
    right = grid.indent + (grid.across - 1) * grid.tray_pitch + 11 + cups * grid.cup_pitch
    assert right <= area.width + 1e-6
    assert grid.rows * grid.row_pitch <= area.height + 1e-6


def test_the_ring_is_wider_than_the_cup_that_stands_in_it():
    cup = CupSize(40, 50)
    assert cup.ring - 2 * HEAVY >= cup.base + 1


@pytest.mark.parametrize(("base", "rim", "field"), [(5, 20, "base"), (40, 30, "rim")])
def test_a_mismeasured_cup_is_refused(base, rim, field):
    with pytest.raises(PanelError) as refused:
        CupSize(base, rim)
    assert refused.value.field == field


def test_the_beer_that_goes_first_changes_from_wave_to_wave():
    comparison = named_comparison()
    assert [jugs_of(comparison, wave)["A"] for wave in (1, 2, 3, 4)] == [1, 2, 1, 2]


def test_the_legend_names_the_jugs_of_its_wave():
    order, key = an_order(spares=0)
    first, second = pour_mat_pages(order, key)
    said = [[text.text for text in texts(page)] for page in (first, second)]
    assert "In this wave start with Saison kept at 19" in said[0]
    assert "then jug 2: Saison kept at 27" in said[0]
    assert "In this wave start with Saison kept at 27" in said[1]


@pytest.mark.parametrize("kind", SittingKind)
def test_which_jug_starts_is_the_boldest_line_of_the_head(kind):
    """It changes from wave to wave, so nobody may have to look for it."""
    for page in pour_mat_pages(*an_order(kind=kind)):
        start, then = (
            next(text for text in texts(page) if text.text.startswith(words))
            for words in ("In this wave start with", "then jug 2")
        )
        assert start.face is Face.BOLD
        assert start.size > then.size
        assert start.size >= 14
        heavy = min(
            (circle for circle in circles(page) if circle.radius <= LEGEND),
            key=lambda circle: abs(circle.y - start.y) + abs(circle.x - start.x),
        )
        assert heavy.width == HEAVY


def test_triple_blinding_shows_cover_names_alone():
    order, key = an_order(comparison=named_comparison(blinding=Blinding.TRIPLE))
    said = text_of(pour_mats(order, key))
    assert "Heron" in said
    assert "Avocet" in said
    assert "kept" not in said


def test_a_letter_beside_a_tray_would_be_taken_for_a_beer():
    """Card 1 has the check letter B: on the mat stands only the number."""
    order, key = an_order()
    page = pour_mat_pages(order, key)[0]
    assert not [text for text in texts(page) if text.text in "ABCDE"]


def test_who_pours_for_the_post_or_alone_is_told_otherwise():
    table, parcel, repeat = (
        text_of(pour_mats(*an_order(kind=kind)))
        for kind in (SittingKind.TABLE, SittingKind.PARCEL, SittingKind.REPEAT)
    )
    assert "within 5 minutes" in table
    assert "go into one parcel" in parcel
    assert "Labels under the cups" in repeat
    assert "within 5 minutes" not in parcel + repeat


def test_spare_trays_are_a_mat_of_their_own():
    order, key = an_order(planned=6, spares=2)
    assert "Pour mat, spare trays (wave 2)" in text_of(pour_mats(order, key))


def test_it_says_that_it_is_for_the_pourer_alone():
    assert "for the pourer alone: keep out of sight" in text_of(pour_mats(*an_order()))


def test_a_beer_with_too_long_a_name_is_refused_by_name():
    comparison = named_comparison()
    first, second = comparison.beers
    long = type(first)(letter="A", name="A saison that was kept at nineteen degrees for five weeks")
    order, key = an_order(comparison=named_comparison(beers=(long, second)))
    with pytest.raises(PanelError, match="the name of beer A, on the pour mat"):
        pour_mats(order, key)
