"""Poster, tray mats, parcel and repeat sheets."""

import re
from dataclasses import replace
from itertools import combinations
from math import dist

import pypdfium2 as pdfium
import pytest
import zxingcpp

from panel.core.allocation.check_letter import card_number
from panel.core.errors import PanelError
from panel.core.methods import METHODS, method_named
from panel.core.names import Information, Paper, SittingKind
from panel.printing.new_address import new_address
from panel.printing.parcel_sheet import parcel_sheets
from panel.printing.poster import poster
from panel.printing.repeat_sheet import repeat_sheet
from panel.printing.rings import CupSize
from panel.printing.tray_mats import tray_mat_pages, tray_mats
from tests.printing.orders import addresses_of
from tests.printing.papers import SECRET_WORDS, an_order, circles, text_of, texts_of

ADDRESS = "http://10.0.0.5:8000/k7xq2m4p9rtvw3za"


@pytest.mark.parametrize("paper", Paper)
def test_the_poster_shows_all_digits_and_a_code_that_reads(paper):
    order, _key = an_order(paper=paper)
    pdf = poster(order, ADDRESS, ADDRESS)
    said = text_of(pdf)
    assert order.comparison.seal is not None
    assert order.comparison.seal.digest in said.replace(" ", "")
    assert ADDRESS in said
    assert "Organised by The Harbour Guild" in said
    document = pdfium.PdfDocument(pdf)
    page = document[0]
    image = page.render(scale=2).to_pil()
    page.close()
    document.close()
    assert [code.text for code in zxingcpp.read_barcodes(image)] == [ADDRESS]


def test_an_address_too_long_for_the_poster_is_refused_by_name():
    with pytest.raises(PanelError, match="the public address, on the poster"):
        poster(an_order()[0], "http://example.org/" + "long/" * 30, ADDRESS)


def test_the_posters_code_is_a_link_though_people_type_less():
    pdf = poster(an_order()[0], ADDRESS.removeprefix("http://"), ADDRESS)
    assert codes_read(pdf) == [ADDRESS]


@pytest.mark.parametrize("paper", Paper)
def test_the_poster_names_the_address_that_lasts_beside_that_of_the_evening(paper):
    order, _key = an_order(paper=paper)
    pdf = poster(order, ADDRESS, ADDRESS, "guild.example/results/k7xq2m4p9rtvw3za")
    assert "The result, for good: guild.example/results/k7xq2m4p9rtvw3za" in text_of(pdf)
    assert codes_read(pdf) == [ADDRESS]
    assert "for good" not in text_of(poster(order, ADDRESS, ADDRESS))
    with pytest.raises(PanelError, match="the lasting address, on the poster"):
        poster(order, ADDRESS, ADDRESS, "guild.example/" + "long/" * 40)


@pytest.mark.parametrize("paper", Paper)
def test_after_a_change_of_address_every_card_has_a_slip_that_leads_to_it(paper):
    order, _key = an_order(paper=paper, planned=30)
    moved = addresses_of(order, "http://192.168.44.17:8000")
    pdf = new_address(order, moved)
    notice, *slips = texts_of(pdf)
    assert moved.typed in notice
    assert "Your card is good" in notice
    assert sorted(codes_read(pdf)) == sorted([moved.door, *moved.codes.values()])
    said = " ".join(slips)
    for tray in order.trays:
        assert card_number(tray.number) in said
        assert moved.short_codes[tray.number] in said


def test_a_slip_opens_what_the_card_opens():
    """Only the address differs: token and typed code are the card's own, so no card is void."""
    order, _key = an_order()
    before, after = addresses_of(order), addresses_of(order, "http://192.168.44.17:8000")
    assert before.short_codes == after.short_codes
    assert {code.rpartition("/")[2] for code in before.codes.values()} == {
        code.rpartition("/")[2] for code in after.codes.values()
    }


def test_an_address_too_long_for_a_notice_is_refused_by_name():
    order, _key = an_order()
    cards = replace(addresses_of(order), typed="guild.example/" + "long/" * 40)
    with pytest.raises(PanelError, match="the address that is typed"):
        new_address(order, cards)


def codes_read(pdf: bytes) -> list[str]:
    """What a reader of square codes finds on all pages of a PDF."""
    document = pdfium.PdfDocument(pdf)
    try:
        images = [page.render(scale=3).to_pil() for page in document]
    finally:
        document.close()
    return [code.text for image in images for code in zxingcpp.read_barcodes(image)]


@pytest.mark.parametrize("method", METHODS)
def test_a_tray_mat_has_a_like_ring_for_every_cup(method):
    order, _key = an_order(method)
    pages = tray_mat_pages(order)
    rings = [circle for page in pages for circle in circles(page)]
    assert len(rings) == sum(len(tray.cups) for tray in order.trays)
    assert len({(circle.radius, circle.width, circle.stroke) for circle in rings}) == 1
    said = text_of(tray_mats(order))
    for tray in order.trays:
        assert f"Card {card_number(tray.number)} here" in said
    assert said.count("reference") == len(method_named(method).references) * len(order.trays)


def test_five_cups_stand_in_two_steps_and_never_touch():
    order, _key = an_order("two-out-of-five")
    for page in tray_mat_pages(order):
        for one, other in combinations(circles(page), 2):
            apart = dist((one.x, one.y), (other.x, other.y))
            assert apart >= one.radius + other.radius + one.width + 0.4
    heights = [circle.y for circle in circles(tray_mat_pages(order)[0])[:5]]
    assert heights[0] == heights[2] == heights[4] < heights[1] == heights[3]


def test_tray_mats_refuse_cups_that_do_not_fit():
    with pytest.raises(PanelError, match="Use narrower cups"):
        tray_mats(an_order("tetrad")[0], CupSize(45, 50))


def test_a_parcel_shows_its_own_codes_alone():
    order, _key = an_order(kind=SittingKind.PARCEL)
    pages = texts_of(parcel_sheets(order))
    assert len(pages) == len(order.trays)
    for page, tray in zip(pages, order.trays, strict=True):
        assert f"Parcel {card_number(tray.number)}" in page
        found = set(re.findall(r"\b\d{3}\b", page))
        assert found & {code for one in order.trays for code in one.codes()} == set(tray.codes())


def test_a_parcel_says_what_can_hurt():
    said = texts_of(parcel_sheets(an_order(kind=SittingKind.PARCEL)[0]))[0]
    for caution in ("barley", "up to 5.2%", "under 18", "children", "drives", "carrier’s rules"):
        assert caution in said
    assert "24 hours" in said
    assert "does not taste pours for you" in said


def test_only_informed_parcels_are_told():
    told = "One was fermented cooler."
    blinded, _key = an_order(kind=SittingKind.PARCEL, told=told)
    informed, _key = an_order(kind=SittingKind.PARCEL, told=told, information=Information.INFORMED)
    assert told not in text_of(parcel_sheets(blinded))
    assert told in text_of(parcel_sheets(informed))


@pytest.mark.parametrize("method", METHODS)
def test_a_repeat_sheet_shows_no_code(method):
    order, _key = an_order(method, kind=SittingKind.REPEAT, planned=8)
    said = text_of(repeat_sheet(order))
    assert not set(re.findall(r"\b\d{3}\b", said)) & {c for t in order.trays for c in t.codes()}
    assert "Labels" not in said or "under its cups" in said
    for tray in order.trays:
        assert card_number(tray.number) in said
    assert ("reference" in said) == bool(method_named(method).references)


def test_eight_rounds_of_strong_beer_are_warned_of():
    """8 x 3 x 50 ml at 5.2 % are 49.2 g, more than two US standard drinks (NIAAA: 14 g each)."""
    said = text_of(repeat_sheet(an_order(kind=SittingKind.REPEAT, planned=8)[0]))
    assert "49.2 g" in said
    assert "spit every sip" in said


@pytest.mark.parametrize(
    "make",
    [
        lambda: poster(an_order()[0], ADDRESS.replace("19", ""), ADDRESS),
        lambda: tray_mats(an_order()[0]),
        lambda: parcel_sheets(an_order(kind=SittingKind.PARCEL)[0]),
        lambda: repeat_sheet(an_order(kind=SittingKind.REPEAT)[0]),
    ],
)
def test_none_of_them_names_a_beer_or_the_variable(make):
    said = text_of(make())
    for word in (word for word in SECRET_WORDS if not word.isdigit()):
        assert word.casefold() not in said.casefold()
