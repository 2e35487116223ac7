"""Photographs in a real browser: sent as they are taken, several under way at once, none lost."""

import time
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask
from PIL import Image
from playwright.sync_api import Page, Route, expect

from panel.core.comparison import Comparison
from panel.core.names import Role
from panel.core.paper.card_format import CARD_FORMATS
from panel.services import invite
from panel.services.workplace import Workplace
from tests.browser.test_ballot import at, complaints, service  # noqa: F401
from tests.builders import ORGANISER, serving
from tests.services.test_read_cards import filled, png, sheet_of

pytestmark = pytest.mark.browser

SEEN_WITHIN = 20.0
"""Seconds from the shutter to the list, with the reader's process still to be started and a machine
that is busy with other tests; with nothing else to do it is a matter of few."""


@pytest.fixture
def known(at: Workplace) -> Comparison:  # noqa: F811
    return serving(at)


@pytest.fixture
def halves(at: Workplace, known: Comparison, tmp_path: Path) -> list[Path]:  # noqa: F811
    """Two photographs of two cards each: of the first, one is clear."""
    picture = sheet_of(at, known.id, known.sittings[0].id)
    marks = {("knew", "nothing"), ("odd", 2), ("sure", "guess")}
    filled(picture, known, CARD_FORMATS["a6"], 0, marks)
    whole = Image.open(BytesIO(png(picture)))
    middle = whole.height // 2
    made = []
    for place, box in enumerate(((0, 0, whole.width, middle), (0, middle, *whole.size))):
        made.append(tmp_path / f"IMG_{place}.jpg")
        whole.crop(box).save(made[-1], "JPEG", quality=85)
    return made


@pytest.fixture
def photos(page: Page, service: tuple[str, Flask], at: Workplace, known: Comparison) -> Page:  # noqa: F811
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.STEWARD)
    page.goto(f"{service[0]}/in/{link}")
    page.click("button:has-text('Open it on this phone')")
    page.click("nav >> text=Photos")
    return page


@pytest.mark.usefixtures("complaints")
def test_each_card_comes_into_the_list_and_the_next_can_be_taken_at_once(
    photos: Page, halves: list[Path]
) -> None:
    begun = time.perf_counter()
    photos.set_input_files("#camera", halves[0])
    assert photos.input_value("#camera") == ""  # free for the next before the first is read
    photos.set_input_files("#pictures", halves[1:])
    expect(photos.locator(".cards-in > li")).to_have_count(4, timeout=20_000)
    assert time.perf_counter() - begun < SEEN_WITHIN
    expect(photos.locator(".tally")).to_contain_text("1 card is in")
    expect(photos.locator(".tally")).to_contain_text("3 cards to look at")
    expect(photos.locator(".cards-in .look").first).to_contain_text("Nothing is marked")
    photos.locator(".cards-in .look a").first.click()
    expect(photos.get_by_role("heading", level=1)).to_contain_text("to be looked at")


def test_a_picture_that_does_not_arrive_is_kept_and_sent_again(
    photos: Page, halves: list[Path]
) -> None:
    def no_wifi(route: Route) -> None:
        route.abort()

    photos.route("**/photos", no_wifi)
    photos.set_input_files("#camera", halves[0])
    again = photos.get_by_role("button", name="Send it again")
    expect(again).to_be_visible()
    photos.unroute("**/photos", no_wifi)
    again.click()
    expect(photos.locator(".cards-in > li")).to_have_count(2, timeout=20_000)
    expect(again).to_have_count(0)


@pytest.mark.usefixtures("complaints")
def test_what_is_dropped_on_a_laptop_is_read_and_what_is_no_card_is_told(
    photos: Page, halves: list[Path]
) -> None:
    hand_over = photos.evaluate_handle("() => new DataTransfer()")
    photos.evaluate(
        "([all, name]) => all.items.add(new File(['no card'], name, {type: 'text/plain'}))",
        [hand_over, "notes.txt"],
    )
    photos.dispatch_event("[data-photos]", "drop", {"dataTransfer": hand_over})
    expect(photos.locator(".sending .caution")).to_contain_text("This is no picture")
