"""The screens for a room in a real browser: on projectors old and new, by keys, taps, no script."""

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from cheroot.wsgi import Server
from playwright.sync_api import Browser, BrowserContext, Page, expect

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.services import publish, show_to_room, sign_in
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from panel.web import cookies
from tests.builders import ORGANISER, Clock
from tests.publishing.test_static_browser import contrast
from tests.publishing.whole_event import whole_event
from tests.thrift import lay_schema

pytestmark = pytest.mark.browser

PROJECTORS = ((1024, 768), (1920, 1080))
"""XGA, what old projectors show, and full HD: common practice, no source."""


@dataclass
class Room:
    """A closed comparison with everything in it, and how its organiser's browser is signed in."""

    at: Workplace
    address: str
    root: str
    pass_: str

    def enter(self, context: BrowserContext) -> Page:
        """A page of the organiser's."""
        context.add_cookies([{"name": cookies.SIGN_IN, "value": self.pass_, "url": self.address}])
        return context.new_page()


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    """One event and one server for all: nothing here changes them but the last test."""
    folder = tmp_path_factory.mktemp("room")
    database = f"sqlite:///{folder / 'panel.db'}"
    lay_schema(database)
    settings = settings_room.load({"PANEL_DATABASE_URL": database}, folder)
    app = create_app(settings, now=Clock(), entropy=seeded_entropy("room"))
    at = workplace_of(app)
    known = whole_event(at, publishes=False)
    show_to_room.begin(at, ORGANISER, known.id)
    signed_in = sign_in.set_up(at, sign_in.set_up_link(at), "Robin", "heron lantern gravel spoon")
    server = Server(("127.0.0.1", 0), app, numthreads=4)
    server.prepare()
    running = threading.Thread(target=server.serve)
    running.start()
    address = f"http://127.0.0.1:{server.bind_addr[1]}"
    yield Room(at, address, f"{address}/organise/{known.id}/show", signed_in)
    server.stop()
    running.join()
    close(app)


CHECK = """() => {
  const outside = [...document.querySelectorAll('h1, h2, p, li, figcaption, nav a')].filter(one => {
    const box = one.getBoundingClientRect();
    return box.left < -0.5 || box.top < -0.5 || box.right > innerWidth + 0.5
      || box.bottom > innerHeight + 0.5;
  }).map(one => one.textContent.trim());
  const small = [...document.querySelectorAll('main h1, main p, main li, main svg text')]
    .filter(one => one.getBoundingClientRect().height < innerHeight / 55)
    .map(one => one.textContent.trim());
  const words = [...document.querySelectorAll('h1, main p, main li, figcaption, .over, svg text')]
    .map(one => { const style = getComputedStyle(one);
      return [one.tagName === 'text' ? style.fill : style.color, one.textContent.trim()]; });
  return {outside, small, words, ground: getComputedStyle(document.body).backgroundColor,
    scrolls: document.documentElement.scrollHeight > innerHeight
      || document.documentElement.scrollWidth > innerWidth};
}"""


def test_every_screen_fits_a_projector_and_can_be_read_from_the_back(
    browser: Browser, room: Room
) -> None:
    """Nothing scrolls or is cut; type is at least a 55th of the screen's height (about 20 pixels
    on full HD: common practice, no source); contrast as WCAG 2.2, 1.4.3, in light and dark; nothing
    is fetched from elsewhere."""
    context = browser.new_context(reduced_motion="reduce")
    page = room.enter(context)
    asked: list[str] = []
    heard: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: heard.append(message.text))
    number, last = 0, False
    while not last:
        number += 1
        page.goto(f"{room.root}/{number}")
        page.evaluate("document.fonts.ready")
        last = not page.locator("a[rel=next]").count()
        for width, height in PROJECTORS:
            page.set_viewport_size({"width": width, "height": height})
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
                fits(page.evaluate(CHECK), (number, width, scheme))
    assert number >= 10
    assert [url for url in asked if not url.startswith(room.address)] == []
    assert heard == []
    context.close()


def fits(seen: dict[str, Any], where: tuple[int, int, str]) -> None:
    assert seen["outside"] == [], where
    assert seen["small"] == [], where
    assert not seen["scrolls"], where
    assert len(seen["words"]) >= 2
    for colour, text in seen["words"]:
        assert contrast(colour, seen["ground"]) >= 4.5, (where, text)


@pytest.fixture
def screen(browser: Browser, room: Room) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1024, "height": 768})
    yield room.enter(context)
    context.close()


def test_keys_of_a_keyboard_and_of_a_remote_control_go_on_and_back(
    screen: Page, room: Room
) -> None:
    screen.goto(f"{room.root}/1")
    for number, key in enumerate(("Space", "ArrowRight", "PageDown", "ArrowDown"), start=2):
        screen.keyboard.press(key)
        expect(screen).to_have_url(f"{room.root}/{number}")
    for number, key in ((4, "ArrowLeft"), (3, "PageUp")):
        screen.keyboard.press(key)
        expect(screen).to_have_url(f"{room.root}/{number}")
    screen.keyboard.press("Home")
    expect(screen).to_have_url(f"{room.root}/1")
    screen.keyboard.press("ArrowLeft")
    expect(screen).to_have_url(f"{room.root}/1")


def test_the_cups_come_one_after_another_unless_less_motion_is_asked_for(
    browser: Browser, room: Room
) -> None:
    moved = {}
    for motion in ("reduce", "no-preference"):
        context = browser.new_context(reduced_motion=motion)
        page = room.enter(context)
        page.goto(f"{room.root}/5")
        page.wait_for_selector(".is-counted .drawing > g")
        moved[motion] = page.evaluate(
            """() => document.getAnimations().filter(one => one.effect.target.closest('.drawing'))
              .map(one => one.effect.getTiming().delay)"""
        )
        context.close()
    assert moved["reduce"] == []
    delays = moved["no-preference"]
    assert len(delays) == 23
    assert delays == sorted(delays)
    assert len(set(delays)) == len(delays)


def test_without_scripts_a_tap_anywhere_goes_on_to_the_end(browser: Browser, room: Room) -> None:
    context = browser.new_context(
        java_script_enabled=False, viewport={"width": 1024, "height": 768}, reduced_motion="reduce"
    )
    page = room.enter(context)
    page.goto(f"{room.root}/1")
    number = 1
    while page.locator("a.on").count():
        number += 1
        page.mouse.click(400, 300)
        page.wait_for_url(f"{room.root}/{number}")
    assert number >= 10
    page.get_by_role("link", name="Back").click()
    page.wait_for_url(f"{room.root}/{number - 1}")
    page.get_by_role("link", name="Leave").click()
    page.wait_for_url("**/findings")
    context.close()


def test_the_stub_s_code_leads_where_the_result_is(
    screen: Page,
    room: Room,
) -> None:
    """Once it is published, whoever follows the address on the last screen finds their own cups."""
    known = publish.publish(room.at, ORGANISER, room.root.split("/")[-2])
    many = len(show_to_room.shown(room.at, ORGANISER, known.id, str).screens)
    screen.goto(f"{room.root}/{many}")
    assert f"/r/{known.slug}" in (screen.locator(".digits").text_content() or "")
    screen.goto(f"{room.address}/r/{known.slug}")
    screen.get_by_role("link", name="Look up your own cups").click()
    expect(screen.get_by_role("heading", name="What was in your cups?")).to_be_visible()
