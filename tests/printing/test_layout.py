"""Layout: margins, feet, languages that are longer, and text that stays on its page."""

from dataclasses import replace

import pytest

from panel.core.drawing import Drawing, Ink, Line
from panel.core.message import Message
from panel.core.methods import METHODS
from panel.core.names import Paper, SittingKind
from panel.core.paper.geometry import Box, page_box
from panel.printing.blocks import Block, space, stack, words
from panel.printing.foot import MARGIN, inside
from panel.printing.kit import contents, sheet
from panel.printing.new_address import new_address_pages
from panel.printing.parcel_sheet import parcel_pages
from panel.printing.poster import poster_page
from panel.printing.pour_mat import pour_mat_pages
from panel.printing.pour_sheet import pour_sheet_pages
from panel.printing.repeat_sheet import repeat_pages
from panel.printing.sealed_key import sealed_key_pages
from panel.printing.sign_in_sheet import sign_in_pages
from panel.printing.steward_page import steward_pages
from panel.printing.tray_mats import tray_mat_pages
from tests.printing.papers import a_job, extent, flat, texts, texts_of

ADDRESS = "http://10.0.0.5:8000/k7xq2m4p9rtvw3za"


def longer(message: Message) -> str:
    """English and a third more, as many languages need."""
    said = str(message)
    parts = said.split(" ")
    if len(parts) < 3:
        return said + "erweiterung"[: max(1, len(said) // 3)]
    return said + " länger" * max(1, round(len(parts) * 0.3))


def all_pages(job) -> dict[str, list[Drawing]]:
    """The pages of every sheet drawn here, without the foot."""
    order, key = job.order, job.key
    return {
        "pour mats": pour_mat_pages(order, key),
        "pour sheet": pour_sheet_pages(order, key),
        "steward page": steward_pages(order),
        "sign in": sign_in_pages(order),
        "sealed key": sealed_key_pages(order, key),
        "poster": [poster_page(order, ADDRESS, ADDRESS)],
        "new address": new_address_pages(order, job.cards),
        "tray mats": tray_mat_pages(order),
        "parcel": parcel_pages(order),
        "repeat": repeat_pages(order),
    }


def is_fold(shape, page: Drawing) -> bool:
    """Lines to fold or cut along run off the page on purpose."""
    return isinstance(shape, Line) and shape.x1 == 0 and shape.x2 == page.width


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("speak", [str, longer], ids=["english", "longer"])
def test_everything_stays_within_the_margins_and_above_the_foot(speak, method, paper):
    job = a_job(method=method, paper=paper, planned=24)
    job = replace(job, order=replace(job.order, speak=speak))
    for name, pages in all_pages(job).items():
        for page in pages:
            box = inside(Box(0, 0, page.width, page.height))
            for shape in flat(page.shapes):
                if is_fold(shape, page):
                    continue
                left, top, right, bottom = extent(shape)
                assert left >= box.x - 0.3, (name, shape)
                assert right <= box.right + 0.3, (name, shape)
                assert top >= box.y - 0.6, (name, shape)
                assert bottom <= box.bottom + 1.0, (name, shape)
    assert MARGIN >= 12


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("speak", [str, longer], ids=["english", "longer"])
def test_no_text_lies_on_another(speak, method, paper):
    job = a_job(method=method, paper=paper, planned=24)
    job = replace(job, order=replace(job.order, speak=speak))
    for name, pages in all_pages(job).items():
        for page in pages:
            boxes = [
                (*extent(text), text.text)
                for text in texts(page)
                if text.ink is not Ink.HAIRLINE and text.text  # the envelope's ground of digits
            ]
            boxes.sort(key=lambda box: box[1])
            for place, (left, top, right, bottom, said) in enumerate(boxes):
                for other in boxes[place + 1 :]:
                    if other[1] > bottom:
                        break
                    clear = min(bottom, other[3]) - max(top, other[1]) < 0.5 or (
                        min(right, other[2]) - max(left, other[0]) < 0.2
                    )
                    assert clear, (name, said, other[4])


@pytest.mark.parametrize("kind", SittingKind)
def test_a_longer_language_prints_every_sheet(kind):
    job = a_job(kind=kind, planned=24)
    job = replace(job, order=replace(job.order, speak=longer))
    names = {content.name for content in contents(job)} - {"ballot-cards"}
    for name in names:
        assert sheet(name, job).startswith(b"%PDF"), name


def test_every_page_says_what_it_is_which_page_and_who_may_see_it():
    job = a_job(planned=24)
    for name, audience in (
        ("pour-mats", "for the pourer alone"),
        ("pour-sheet", "for the pourer alone"),
        ("steward-page", "for the steward: not for tasters"),
        ("sign-in", "for tasters to read and sign"),
        ("sealed-key", "for nobody before the last sitting has closed"),
        ("tray-mats", "for the trays"),
        ("poster", "for everybody"),
    ):
        pages = texts_of(sheet(name, job))
        for number, said in enumerate(pages, start=1):
            assert f"page {number} of {len(pages)}" in said
            assert "Spring evening ·" in said
            assert audience in said


@pytest.mark.parametrize("paper", Paper)
def test_pages_have_the_sittings_paper(paper):
    for name, pages in all_pages(a_job(paper=paper)).items():
        lying = page_box(paper, landscape=name == "pour mats")
        for page in pages:
            assert (page.width, page.height) == (lying.width, lying.height)


# --- stacking -----------------------------------------------------------------------------------


def places(*heights):
    return iter([(number, Box(0, 0, 100, height)) for number, height in enumerate(heights)])


A_LINE = words("word", 100)


def test_blocks_go_on_in_the_next_place_when_one_is_full():
    tall = Block(10, A_LINE.shapes)
    pages = stack([tall, tall, tall], places(20, 20))
    assert [len(pages[number]) for number in sorted(pages)] == [2, 1]


def test_a_heading_is_not_left_behind():
    tall = Block(10, A_LINE.shapes)
    held = Block(5, A_LINE.shapes, keep=True)
    pages = stack([tall, held, tall], places(20, 20))
    assert [len(pages[number]) for number in sorted(pages)] == [1, 2]


def test_space_opens_no_new_place():
    tall = Block(10, A_LINE.shapes)
    pages = stack([tall, space(50)], places(10, 10))
    assert sorted(pages) == [0]
