"""Sheets are set as large as their page allows, leave room for pens, and break no date."""

from dataclasses import replace
from itertools import pairwise

import pytest

from panel.core.drawing import POINT, Face, Line, Rect, Text, scaled
from panel.core.names import Information, Paper, SittingKind
from panel.printing.blocks import as_large_as_fits, height_of, words
from panel.printing.hand_tally import hand_tally_page
from panel.printing.parcel_sheet import parcel_pages
from panel.printing.poster import poster_page
from panel.printing.pour_sheet import pour_sheet, pour_sheet_pages
from panel.printing.sealed_key import sealed_key, sealed_key_pages
from panel.printing.sign_in_sheet import sign_in_pages
from panel.printing.steward_page import steward_page, steward_pages
from panel.printing.tray_mats import tray_mat_pages
from tests.printing.papers import an_order, extent, flat, named_comparison, text_of, texts

ADDRESS = "http://10.0.0.5:8000/k7xq2m4p9rtvw3za"


def long_dated(message):
    """English with moments as long as many languages write them."""
    return str(message).replace("2027-03-01 12:00 UTC", "Monday, 1 March 2027 at 12:00 noon UTC")


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("speak", [str, long_dated], ids=["short", "long"])
def test_a_date_on_the_poster_stands_on_one_line(speak, paper):
    order, _key = an_order(paper=paper)
    order = replace(order, speak=speak)
    moment = order.moment(order.comparison.seal.made).replace("\N{NO-BREAK SPACE}", " ")
    assert moment.count(" ") >= 3
    assert any(moment in text.text for text in texts(poster_page(order, ADDRESS, ADDRESS)))


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("planned", [6, 14, 24])
def test_a_room_signs_in_on_one_page_with_lines_to_write_on(planned, paper):
    """Lines to write on are 6 mm apart at least, as on ruled paper (common practice, no source)."""
    order, _key = an_order(paper=paper, planned=planned)
    (page,) = sign_in_pages(order)
    lines = sorted({s.y1 for s in flat(page.shapes) if isinstance(s, Line) and s.y1 == s.y2})
    apart = [after - before for before, after in pairwise(lines[2:])]
    assert len(apart) >= planned
    assert min(apart) >= 6
    if planned <= 14:
        assert max(text.size for text in texts(page) if text.face is Face.TEXT) > 12


def test_a_page_of_signatures_that_is_begun_is_filled_with_lines():
    order, _key = an_order(planned=40)
    pages = sign_in_pages(order)
    boxes = [sum(isinstance(s, Rect) for s in flat(page.shapes)) for page in pages]
    assert len(pages) == 2
    assert sum(boxes) / 3 >= 42
    lowest = max(extent(s)[3] for s in flat(pages[-1].shapes) if isinstance(s, Line))
    assert lowest > pages[-1].height * 0.85


@pytest.mark.parametrize("paper", Paper)
def test_the_hand_tally_is_read_by_lamplight_and_written_by_hand(paper):
    order, _key = an_order(paper=paper)
    page = hand_tally_page(order)
    counts = [text for text in texts(page) if text.face is Face.BOLD and text.text.isdigit()]
    table = [text for text in counts if text.y > page.height / 2]
    assert min(text.size for text in table) >= 13
    blanks = [text for text in texts(page) if text.text.startswith(("Cards counted", "Needed"))]
    assert abs(blanks[1].y - blanks[0].y) / 2 >= 9


def test_few_trays_make_a_large_key_and_many_still_fit_one_page():
    sizes = []
    for planned in (6, 24, 36):
        order, key = an_order(planned=planned)
        _outside, inside, _tally = sealed_key_pages(order, key)
        sizes.append(min(t.size for t in texts(inside) if t.face is Face.BOLD))
    assert sizes[0] >= 14
    assert sizes == sorted(sizes, reverse=True)


def test_tape_marks_of_both_halves_meet_when_the_key_is_folded():
    page = sealed_key_pages(*an_order())[0]
    marks = [text for text in texts(page) if text.text == "tape"]
    assert len(marks) == 6
    fold = page.height / 2
    upper, lower = ([m for m in marks if (m.y < fold) is side] for side in (True, False))
    for one, other in ((upper[0], lower[0]), (upper[1], lower[1])):
        assert one.x == pytest.approx(other.x)
        assert fold - one.y == pytest.approx(other.y - fold, abs=12)


@pytest.mark.parametrize("paper", Paper)
def test_a_parcel_has_one_sheet(paper):
    order, _key = an_order(kind=SittingKind.PARCEL, paper=paper)
    assert len(parcel_pages(order)) == len(order.trays)


@pytest.mark.parametrize("paper", Paper)
def test_a_pour_sheet_with_little_on_it_is_set_larger(paper):
    few, many = (pour_sheet_pages(*an_order(planned=planned, paper=paper)) for planned in (6, 24))
    assert len(few) == len(many) == 1
    first = [next(t.size for t in texts(pages[0]) if t.text == "1") for pages in (few, many)]
    assert first[0] > first[1] >= 10.5


def test_the_drink_is_called_what_the_organiser_calls_it():
    comparison = named_comparison(drink="cold brew")
    order, key = an_order(comparison=comparison)
    for made in (pour_sheet(order, key), sealed_key(order, key), steward_page(order)):
        assert "beer" not in text_of(made).casefold()
    assert "Cold brew" in text_of(pour_sheet(order, key))


def test_cards_that_do_not_begin_at_one_are_announced():
    order, _key = an_order(information=Information.INFORMED, told="One was kept warm.", planned=6)
    assert "cards run" not in text_of(steward_page(order))
    trays = tuple(replace(tray, number=tray.number + 24) for tray in order.trays)
    later = replace(order, trays=trays)
    assert "At this sitting cards run from 25 to 30." in text_of(steward_page(later))
    assert len(steward_pages(later)) == len(steward_pages(order))


def test_an_arrow_leads_along_the_cups_of_a_tray_mat():
    page = tray_mat_pages(an_order()[0])[0]
    heads = [shape for shape in page.shapes if type(shape).__name__ == "Path"]
    assert len(heads) == 2
    for head in heads:
        (x1, _), (tip, _), (x2, _) = head.steps
        assert tip > x1 == x2


def test_scaling_moves_and_enlarges_alike():
    text = scaled(Text(x=2, y=3, text="a", size=10, room=5), 1.5)
    assert (text.x, text.y, text.size, text.room) == (3, 4.5, 15, 7.5)
    line = scaled(Line(x1=1, y1=2, x2=3, y2=4, width=0.2), 2)
    assert (line.x1, line.y1, line.x2, line.y2, line.width) == (2, 4, 6, 8, 0.2)


def test_blocks_are_made_as_large_as_the_page_holds_and_never_smaller_than_usual():
    def made(room):
        return [words("some words to be read " * 12, room)]

    usual = height_of(made(100))
    assert height_of(as_large_as_fits(made, 100, usual)) == usual
    assert height_of(as_large_as_fits(made, 100, usual - 1)) == usual
    large = as_large_as_fits(made, 100, 4 * usual)
    assert large[0].shapes[0].size == pytest.approx(10.5 * 1.35)
    assert all(extent(s)[2] <= 100 + POINT for s in large[0].shapes)
