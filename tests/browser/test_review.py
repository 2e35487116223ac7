"""Cards looked at in a real browser, by the keyboard alone."""

import re
import time

import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from panel.core.names import Role
from panel.services import invite
from panel.services.workplace import Workplace
from panel.store import ballots
from tests.browser.test_ballot import at, complaints, service  # noqa: F401
from tests.builders import ORGANISER, serving, trays
from tests.readings import waiting_reading

pytestmark = pytest.mark.browser

CARD_WITHIN = 1.0
"""Seconds for a card: sixty in a minute. A person's own looking comes on top."""


@pytest.mark.usefixtures("complaints")
def test_a_pile_is_gone_through_with_a_digit_and_enter(
    page: Page,
    service: tuple[str, Flask],  # noqa: F811
    at: Workplace,  # noqa: F811
) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    every = trays(at, known)[:8]
    numbers = [waiting_reading(at, known, tray) for tray in every]
    link = invite.invite(at, ORGANISER, known.id, sitting, Role.STEWARD)
    page.goto(f"{service[0]}/in/{link}")
    page.click("button:has-text('Open it on this phone')")
    root = f"{service[0]}/steward/{known.id}/{sitting}/review"
    page.goto(f"{root}/{numbers[0]}")
    page.keyboard.press("ArrowRight")
    expect(page).to_have_url(f"{root}/{numbers[1]}")
    page.keyboard.press("ArrowLeft")
    expect(page).to_have_url(f"{root}/{numbers[0]}")
    begun = time.perf_counter()
    for number in numbers:
        expect(page.locator("form[data-review]")).to_have_attribute(
            "action", f"/steward/{known.id}/{sitting}/review/{number}"
        )
        page.keyboard.press("2")
        page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="No card is to be looked at.")).to_be_visible()
    assert (time.perf_counter() - begun) / len(numbers) < CARD_WITHIN
    with at.units.read() as session:
        for tray in every:
            (copy,) = ballots.revisions(session, known.id, tray.number)
            assert copy.answers["odd"] == (tray.codes()[1],)


def test_the_next_card_is_there_before_this_one_is_saved(
    page: Page,
    service: tuple[str, Flask],  # noqa: F811
    at: Workplace,  # noqa: F811
) -> None:
    """Saving asks for no page; without wifi nothing is lost, and what is refused is shown."""
    known = serving(at)
    sitting = known.sittings[0].id
    numbers = [waiting_reading(at, known, tray) for tray in trays(at, known)[:3]]
    link = invite.invite(at, ORGANISER, known.id, sitting, Role.STEWARD)
    page.goto(f"{service[0]}/in/{link}")
    page.click("button:has-text('Open it on this phone')")
    root = f"{service[0]}/steward/{known.id}/{sitting}/review"
    page.goto(f"{root}/{numbers[0]}")
    page.wait_for_selector("[data-ahead=there]")
    asked: list[str] = []
    page.on(
        "request", lambda one: "/review/" in one.url and asked.append(f"{one.method} {one.url}")
    )
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    expect(page).to_have_url(f"{root}/{numbers[1]}")
    expect(page.get_by_role("status")).to_contain_text("is in as you keyed it.")
    expect(page.locator(".turn")).to_contain_text("All: 2 to look at")
    assert asked[0] == f"POST {root}/{numbers[0]}"
    assert [one for one in asked[1:] if "?ahead=" not in one] == []
    page.wait_for_selector("[data-ahead=there]")
    page.keyboard.press("Enter")  # nothing is chosen: the page says so, by itself
    expect(page.locator(".reason").first).to_contain_text("Choose one cup.")
    page.context.set_offline(True)
    page.keyboard.press("1")
    page.keyboard.press("Enter")
    expect(page.locator("[data-lost]")).to_be_visible()
    page.context.set_offline(False)
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(f"{root}/{numbers[2]}"))
    with at.units.read() as session:
        kept = [ballots.revisions(session, known.id, one.number) for one in trays(at, known)[:3]]
    assert [len(one) for one in kept] == [1, 1, 0]


@pytest.mark.usefixtures("complaints")
def test_digits_typed_into_words_stay_words(
    page: Page,
    service: tuple[str, Flask],  # noqa: F811
    at: Workplace,  # noqa: F811
) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    number = waiting_reading(at, known, trays(at, known)[0])
    link = invite.invite(at, ORGANISER, known.id, sitting, Role.STEWARD)
    page.goto(f"{service[0]}/in/{link}")
    page.click("button:has-text('Open it on this phone')")
    page.goto(f"{service[0]}/steward/{known.id}/{sitting}/review/{number}")
    page.click("text=What else was read")
    page.locator("textarea").first.fill("")
    page.locator("textarea").first.press("2")
    assert page.locator("textarea").first.input_value() == "2"
    assert page.locator("[name=answer-odd]:checked").count() == 0
