"""The pictures of README and docs, made by the program from the invented event.

Run by hand where pages or sheets have changed: `.venv/bin/python -m tests.pictures`. It plays the
event in an instance that is thrown away, goes through a second one as its organiser and taster do
in a real browser, and writes docs/pictures/. Clock and chance are seeded: the same program makes
the same pictures.
"""

import re
import shutil
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdfium2
import zxingcpp
from cheroot.wsgi import Server
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from panel.app import close, create_app, workplace_of
from panel.cli.demo import invented_event, played
from panel.services.seeded import EventClock, seeded_entropy
from panel.services.sign_in import first_link
from panel.settings import load
from tests.conftest import CHROMIUM_FLAGS, CHROMIUM_NAMES

FOLDER = Path(__file__).parents[1] / "docs" / "pictures"
NAMES = (
    "result.png",
    "check.png",
    "evening.png",
    "ballot.png",
    "ballot-card.png",
    "pour-mat.png",
    "poster.png",
)
"""Every picture there is; what a run makes is held against this list."""

PRINTED_ADDRESS = "http://192.168.1.20:8000"
LAPTOP, PHONE = (1280, 800), (390, 720)
BEFORE = datetime(2026, 4, 3, 17, 0, tzinfo=UTC)
EVENING = datetime(2026, 4, 10, 18, 40, tzinfo=UTC)
NAME, PASSWORD = "Robin", "four words in a row"
BALLOTS = 7
PAGE_DPI, CARD_DPI = 100, 170


@dataclass(frozen=True)
class Service:
    """A running service: where it answers, its clock, its first link and its published result."""

    address: str
    clock: EventClock
    set_up: str
    result: str


@contextmanager
def running(folder: Path) -> Iterator[Service]:
    """The service on a free port, with the event played to its end."""
    clock = EventClock(BEFORE)
    settings = load({"PANEL_ADDRESS": PRINTED_ADDRESS, "PANEL_PORT": "0"}, folder)
    app = create_app(settings, now=clock, entropy=seeded_entropy("pictures"))
    at = workplace_of(app)
    known, link = played(at), first_link(at)
    server = Server(("127.0.0.1", 0), app)
    server.prepare()
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        address = f"http://127.0.0.1:{server.bind_addr[1]}"
        yield Service(address, clock, f"{address}/set-up/{link}", f"{address}/r/{known.slug}")
    finally:
        server.stop()
        thread.join()
        close(app)


def pictures(browser: Browser, service: Service) -> Iterator[tuple[str, Image.Image]]:
    """Every picture, in the order in which an evening shows them."""
    desk = _opened(browser, LAPTOP)
    _set_up(desk, service)
    _ask(desk, invented_event())
    yield "check.png", _seen(desk)
    desk.get_by_role("button", name="Seal it").click()
    evening = desk.url.rpartition("/")[0] if desk.url.endswith("/print") else desk.url
    desk.goto(f"{evening}/print")
    desk.get_by_text("on request").first.click()
    cards = _sheet(desk, "Ballot cards")
    yield "ballot-card.png", _card(cards)
    yield "pour-mat.png", _rendered(_sheet(desk, "Pour mats"), PAGE_DPI)
    yield "poster.png", _rendered(_sheet(desk, "Poster"), PAGE_DPI)
    service.clock.moment = EVENING
    _sign_in(desk, service)
    desk.goto(evening)
    desk.get_by_role("button", name="Open the sitting").first.click()
    for number, path in enumerate(list(_paths(cards))[: BALLOTS + 1]):
        phone = _opened(browser, PHONE, scale=2)
        phone.goto(f"{service.address}{path}")
        _to_the_cups(phone, number)
        if number == BALLOTS:
            yield "ballot.png", _seen(phone)
        else:
            _send(phone)
        phone.context.close()
    desk.goto(evening)
    yield "evening.png", _seen(desk, whole=True)
    desk.goto(service.result)
    yield "result.png", _seen(desk)


def _opened(browser: Browser, size: tuple[int, int], scale: int = 1) -> Page:
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        device_scale_factor=scale,
        locale="en-GB",
        color_scheme="light",
    )
    context.set_default_timeout(10_000)
    return context.new_page()


def _seen(page: Page, *, whole: bool = False) -> Image.Image:
    page.wait_for_load_state("networkidle")
    page.evaluate("document.fonts.ready")
    return Image.open(BytesIO(page.screenshot(full_page=whole)))


def _set_up(page: Page, service: Service) -> None:
    page.goto(service.set_up)
    page.get_by_label("Name").fill(NAME)
    for label in ("Password", "The same password again"):
        page.get_by_label(label, exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Set it up").click()


def _sign_in(page: Page, service: Service) -> None:
    page.goto(f"{service.address}/sign-in")
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def _ask(page: Page, event: dict[str, Any]) -> None:
    """Writes the event's question and its blinded sittings into the forms."""
    page.get_by_role("link", name="Ask a new question").click()
    comparison, plan, serving = event["comparison"], event["plan"], event["serving"]
    first, second = event["sittings"][:2]
    names = ("title", "variable", "neutral_title", "drink", "organised_by")
    _fill(page, {name: comparison[name] for name in names})
    for beer in event["beers"]:
        prefix = f"beer_{beer['letter'].lower()}"
        _fill(page, {f"{prefix}_{name}": beer[name] for name in ("name", "value", "abv")})
    _fill(page, {name: str(serving[name]) for name in ("millilitres", "temperature", "vessel")})
    _fill(page, {"expected": str(plan["expected"]), "allergens": ", ".join(serving["allergens"])})
    share = f"{float(plan['pd']) * 100:.0f}"
    _choose(page, {"helpers": comparison["helpers"], "aim": plan["aim"], "pd": share})
    _choose(page, {"method": plan["method"], "looks": serving["looks"]})
    _sitting(page, first)
    page.get_by_role("button", name="Keep it and check it").click()
    page.get_by_role("link", name="Add one more sitting").click()
    _sitting(page, second)
    page.get_by_role("button", name="Add this sitting").click()


def _sitting(page: Page, facts: dict[str, Any]) -> None:
    date, time = facts["starts"].split("T")
    _fill(page, {"sitting_name": facts["name"], "date": date, "time": time})
    _fill(page, {"place": facts["place"], "planned": str(facts["planned"])})
    _choose(page, {"information": facts["information"]})


def _fill(page: Page, words: dict[str, str]) -> None:
    for name, word in words.items():
        page.locator(f'[name="{name}"]').fill(word)


def _choose(page: Page, chosen: dict[str, str]) -> None:
    """Choices, also those that lie under a default sentence."""
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
    for name, value in chosen.items():
        page.locator(f'[name="{name}"][value="{value}"]').check()


def _sheet(page: Page, title: str) -> bytes:
    with page.expect_download() as download:
        page.locator("table.kit").get_by_text(title, exact=True).first.click()
    return download.value.path().read_bytes()


def _rendered(pdf: bytes, dpi: int, page: int = 0) -> Image.Image:
    with pypdfium2.PdfDocument(pdf) as document:
        picture: Image.Image = document[page].render(scale=dpi / 72).to_pil()
        return picture.convert("RGB")


def _card(cards: bytes) -> Image.Image:
    """The first of the four cards on a sheet."""
    sheet = _rendered(cards, CARD_DPI)
    return sheet.crop((0, 0, sheet.width // 2, sheet.height // 2))


def _paths(cards: bytes) -> Iterator[str]:
    """What the square codes of all cards say, without the printed address."""
    with pypdfium2.PdfDocument(cards) as document:
        pages = range(len(document))
    for number in pages:
        for code in zxingcpp.read_barcodes(_rendered(cards, CARD_DPI, number)):
            yield re.sub(f"^{PRINTED_ADDRESS}", "", code.text, flags=re.IGNORECASE)


def _to_the_cups(phone: Page, number: int) -> None:
    phone.locator('[name="answer-knew"][value="nothing"]').check()
    phone.get_by_role("button", name="To the cups").click()
    phone.locator("label.cup:visible").nth(number % 3).click()


def _send(phone: Page) -> None:
    while not phone.get_by_role("button", name="Send my ballot").is_visible():
        phone.locator('button[name="go"]:visible').click()
    phone.get_by_role("button", name="Send my ballot").click()
    phone.get_by_text("Your ballot is in.").wait_for()


def small(picture: Image.Image, path: Path) -> None:
    """Writes a picture with a palette: pages and sheets have few colours."""
    picture.convert("RGB").quantize(128, dither=Image.Dither.NONE).save(path, optimize=True)


def main() -> None:
    """Makes every picture anew."""
    program = next(filter(None, map(shutil.which, CHROMIUM_NAMES)))
    FOLDER.mkdir(exist_ok=True)
    made = []
    with (
        tempfile.TemporaryDirectory() as folder,
        running(Path(folder)) as service,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=program, args=list(CHROMIUM_FLAGS))
        for name, picture in pictures(browser, service):
            small(picture, FOLDER / name)
            sys.stdout.write(f"{name}  {(FOLDER / name).stat().st_size // 1024} KB\n")
            made.append(name)
        browser.close()
    assert sorted(made) == sorted(NAMES), made


if __name__ == "__main__":
    main()
