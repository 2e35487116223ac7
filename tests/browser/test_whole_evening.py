"""A whole evening in a real browser: from the first person's link to what members read.

Nothing is reached into: the organiser, a taster's phone and a steward's phone only see pages, and
the phone gets its address as a taster does, from the square code printed on a card.
"""

import re
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from cheroot.wsgi import Server
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from panel import settings as settings_room
from panel.app import close, create_app
from panel.services import sign_in
from panel.services.seeded import seeded_entropy
from panel.web.place import KEY
from tests.builders import Clock

pytestmark = pytest.mark.browser

DOTS_PER_INCH = 200
"""As an office scanner reads a card."""

QUESTION = {
    "title": "Does a 90-minute boil taste different from a 30-minute one?",
    "variable": "length of the boil",
    "beer_a_name": "Short",
    "beer_a_value": "30 minutes",
    "beer_a_abv": "4.6",
    "beer_b_name": "Long",
    "beer_b_value": "90 minutes",
    "beer_b_abv": "4.7",
    "neutral_title": "Brown ale, spring batch",
    "expected": "6",
    "temperature": "11",
    "vessel": "clear plastic cups, all from one bag",
    "allergens": "barley (gluten)",
    "sitting_name": "Guild night",
    "date": "2027-03-14",
    "time": "19:30",
    "place": "Back room",
    "planned": "6",
}


@dataclass(frozen=True)
class Service:
    """A running service: its address, and the link its own window would show first."""

    address: str
    first_link: str


@pytest.fixture
def service(database_url: str, tmp_path: Path) -> Iterator[Service]:
    """The real server on a free port of this machine."""
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    folder = tmp_path / "instance"
    folder.mkdir()
    environment = {
        "PANEL_DATABASE_URL": database_url,
        "PANEL_ADDRESS": address,
        "PANEL_GUILD": "Larkspur Hill Fermenters",
    }
    app = create_app(
        settings_room.load(environment, folder), now=Clock(), entropy=seeded_entropy("evening")
    )
    link = sign_in.first_link(app.extensions[KEY])
    with served(Server(("127.0.0.1", port), app, numthreads=4)):
        yield Service(address, f"{address}/set-up/{link}")
    close(app)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port: int = found.getsockname()[1]
    return port


@contextmanager
def served(server: Server) -> Iterator[None]:
    server.prepare()
    serving = threading.Thread(target=server.serve)
    serving.start()
    try:
        yield
    finally:
        server.stop()
        serving.join()


@contextmanager
def somebody(browser: Browser, width: int = 390, height: int = 844) -> Iterator[Page]:
    """A browser of their own, the size of a phone unless said otherwise."""
    context: BrowserContext = browser.new_context(
        viewport={"width": width, "height": height}, locale="en-GB", accept_downloads=True
    )
    context.set_default_timeout(10_000)
    yield context.new_page()
    context.close()


def codes_on(pdf: Path) -> list[str]:
    """The texts of all square codes on a printed sheet, read as a camera reads them."""
    document = pypdfium2.PdfDocument(pdf)
    read = [
        found.text
        for page in document
        for found in zxingcpp.read_barcodes(page.render(scale=DOTS_PER_INCH / 72).to_pil())
    ]
    document.close()
    return read


def test_from_the_first_link_to_the_published_result(
    service: Service, browser: Browser, tmp_path: Path
) -> None:
    with somebody(browser, 1280, 800) as organiser, somebody(browser) as phone:
        set_up(organiser, service)
        ask_the_question(organiser)
        seal(organiser)
        cards = print_the_cards(organiser, tmp_path)
        open_the_sitting(organiser)
        vote(phone, cards[0])
        link = link_for_a_steward(organiser)
        with somebody(browser) as steward:
            key_in_a_card(steward, link)
        close_and_unseal(organiser)
        publish(organiser)
        what_members_read(phone, organiser, service)


def set_up(organiser: Page, service: Service) -> None:
    organiser.goto(service.first_link)
    organiser.fill("#name", "Wilhelmina")
    organiser.fill("#password", "four plain words here")
    organiser.fill("#password_again", "four plain words here")
    organiser.click("button:has-text('Set it up')")
    expect(organiser.locator(".empty")).to_contain_text("Begin with a question")


def ask_the_question(organiser: Page) -> None:
    organiser.click("text=Ask the first question")
    organiser.click("#sitting > summary")
    told = organiser.locator("#told")
    for information, shown in (("split", True), ("informed", True), ("blinded", False)):
        organiser.check(f"input[name=information][value={information}]")
        expect(told).to_be_visible(visible=shown)
    for name, word in QUESTION.items():
        organiser.fill(f"#{name}", word)
    organiser.check("input[name=helpers][value=two]")
    organiser.check("input[name=looks][value=masked]")
    organiser.click("button:has-text('Keep it and check it')")
    expect(organiser.locator("h1")).to_have_text("What this can answer")
    expect(organiser.locator("main")).to_contain_text("Nothing. The plan is whole.")


def seal(organiser: Page) -> None:
    organiser.click("button:has-text('Seal it')")
    expect(organiser.locator("h1")).to_contain_text("pages to print")


def print_the_cards(organiser: Page, folder: Path) -> list[str]:
    """Addresses of the ballot cards' codes."""
    with organiser.expect_download() as download:
        organiser.click("a:has-text('Ballot cards')")
    sheet = folder / "cards.pdf"
    download.value.save_as(sheet)
    addresses = codes_on(sheet)
    assert len(addresses) == len(set(addresses)) >= 6
    return addresses


def open_the_sitting(organiser: Page) -> None:
    organiser.click("text=On to the evening")
    organiser.click("button:has-text('Open the sitting')")
    expect(organiser.locator(".count")).to_contain_text("0 ballots in")


def vote(phone: Page, address: str) -> None:
    """A ballot by phone, from the card's own code: the middle of three cups."""
    phone.goto(address)
    phone.check("input[value=nothing]:visible")
    phone.click("button:visible:has-text('To the cups')")
    cups = phone.locator(".cup .code:visible").all_inner_texts()
    assert len(cups) == 3
    phone.locator(".cup:visible").nth(1).click()
    phone.click("button:visible:has-text('Go on')")
    phone.click("button:visible:has-text('Read it over')")
    expect(phone.locator("[data-over=odd]")).to_have_text(cups[1])
    phone.click("button:visible:has-text('Send my ballot')")
    expect(phone.locator("h1:visible")).to_have_text("Thank you. Your ballot is in.")


def link_for_a_steward(organiser: Page) -> str:
    """The address that the organiser's page shows once, checked against its square code."""
    organiser.click("text=Links for stewards and pourers")
    organiser.click("li:has-text('Steward') >> button:has-text('Make a link')")
    address = organiser.locator("#address").inner_text()
    picture = organiser.locator(".link-code").screenshot()
    assert read_picture(picture) == [address]
    organiser.click("text=Back to the evening")
    return address


def read_picture(png: bytes) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(Image.open(BytesIO(png)))]


def key_in_a_card(steward: Page, link: str) -> None:
    """Hands a tray out and keys its card in."""
    steward.goto(link)
    steward.click("button:has-text('Open it on this phone')")
    steward.click("text=Hand out trays")
    tray = steward.locator("li.printed").first
    code = tray.locator(".code").nth(2).inner_text()
    card = tray.locator(".card").inner_text()
    tray.locator("button:has-text('Hand out')").click()
    steward.click(f"a[aria-label='Key in card {card}']")
    expect(steward.locator("#card")).to_have_value(card)
    steward.locator("[name=answer-odd]").first.fill(code)
    steward.click("button:has-text('Save this card')")
    expect(steward.locator("[role=status]")).to_contain_text(f"Card {card} is in.")


def close_and_unseal(organiser: Page) -> None:
    expect(organiser.locator(".count")).to_contain_text("2 ballots in")
    organiser.click("summary:has-text('The last card is in?')")
    organiser.click("button:has-text('Close the sitting')")
    organiser.click("button:has-text('Set the rest aside')")
    organiser.click("button:has-text('Close it and unseal')")
    expect(organiser.locator("article h1")).to_have_text(QUESTION["title"])
    expect(organiser.locator("article .said")).to_contain_text("of 2 blinded tasters")


def publish(organiser: Page) -> None:
    organiser.click("button:has-text('Publish it')")
    expect(organiser.locator("#publish")).to_contain_text("it does not change any more")


def what_members_read(member: Page, organiser: Page, service: Service) -> None:
    """The front page leads to the same words, without signing in."""
    said = organiser.locator("article .said").inner_text()
    member.goto(service.address)
    member.click(f"text={QUESTION['title']}")
    assert re.search(r"/r/[a-z2-7]{16}$", member.url)
    expect(member.locator("article .said")).to_have_text(said)
