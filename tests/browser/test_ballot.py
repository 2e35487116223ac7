"""The ballot in a real browser at a phone's size: with the script, without it, and without wifi.

Limits: WCAG 2.2 (reflow at 320 CSS px, targets, names of groups); 44 px targets and 8 px between
them are 2.5.5 (AAA) and our own.
"""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from cheroot.wsgi import Server
from flask import Flask
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Locator,
    Page,
    Response,
    Route,
    expect,
)

from panel import settings as settings_room
from panel.app import close, create_app, workplace_of
from panel.core.comparison import Comparison, Tray
from panel.core.methods import METHODS
from panel.core.paper.payload import ref_of
from panel.services import take_ballot
from panel.services.seeded import seeded_entropy
from panel.services.workplace import Workplace
from panel.store import ballots
from tests.builders import Clock, nose_first, plan_for, serving, token, trays

pytestmark = pytest.mark.browser


@pytest.fixture
def service(tmp_path: Path, sqlite_url: str) -> Iterator[tuple[str, Flask]]:
    """A real server on a port of its own."""
    folder = tmp_path / "instance"
    folder.mkdir()
    environment = {"PANEL_DATABASE_URL": sqlite_url, "PANEL_GUILD": "The Harbour Guild"}
    app = create_app(
        settings_room.load(environment, folder), now=Clock(), entropy=seeded_entropy("browser")
    )
    server = Server(("127.0.0.1", 0), app, numthreads=4)
    server.prepare()
    running = threading.Thread(target=server.serve)
    running.start()
    yield f"http://127.0.0.1:{server.bind_addr[1]}", app
    server.stop()
    running.join()
    close(app)


@pytest.fixture
def at(service: tuple[str, Flask]) -> Workplace:
    return workplace_of(service[1])


@pytest.fixture
def complaints(page: Page) -> Iterator[list[str]]:
    """What the browser complains of: scripts that fail, policies that are broken."""
    heard: list[str] = []

    def note(message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and "Failed to load resource" not in message.text:
            heard.append(message.text)

    page.on("console", note)
    page.on("pageerror", lambda failure: heard.append(str(failure)))
    yield heard
    assert heard == []


def kept(at: Workplace, known: Comparison, tray: Tray) -> int:
    with at.units.read() as session:
        return len(ballots.revisions(session, known.id, tray.number))


def opened(page: Page, service: tuple[str, Flask], known: Comparison, tray: Tray) -> str:
    """Opens a card's link; gives its ref."""
    word = token(workplace_of(service[1]), known, tray)
    page.goto(f"{service[0]}/{word}")
    assert word not in page.url
    return ref_of(word)


def go_on(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def fill_in(page: Page, tray: Tray) -> None:
    """From the first question to the read-over."""
    page.get_by_label("nothing", exact=True).check()
    go_on(page, "To the cups")
    page.get_by_role("group", name="Which cup is different?").get_by_label(
        f"{tray.codes()[1]} second"
    ).check()
    go_on(page, "Go on")
    page.get_by_label("I guessed").check()
    page.get_by_label("Anything you would like to say").fill("a little sharper")
    go_on(page, "Read it over")
    expect(page.get_by_role("heading", name="Is this what you meant?")).to_be_visible()
    expect(page.locator("[data-over=odd]")).to_have_text(tray.codes()[1])


@pytest.mark.usefixtures("complaints")
def test_a_ballot_is_light(page: Page, service: tuple[str, Flask], at: Workplace) -> None:
    """Three requests and 50 KB after the card's link (design target for a pub's wifi)."""
    known = serving(at, "tetrad")
    loaded: list[tuple[str, int]] = []

    def note(response: Response) -> None:
        if response.status == 200:
            loaded.append((response.url, len(response.body())))

    page.on("response", note)
    opened(page, service, known, trays(at, known)[0])
    page.wait_for_load_state("networkidle")
    assert len(loaded) == 3, loaded
    assert sum(size for _, size in loaded) <= 50_000, loaded


@pytest.mark.usefixtures("complaints")
def test_with_its_script_only_the_ballot_is_sent(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    requests: list[str] = []
    opened(page, service, known, tray)
    page.on("request", lambda request: requests.append(f"{request.method} {request.url}"))
    fill_in(page, tray)
    assert requests == []
    expect(page.get_by_role("status")).to_contain_text("not sent yet")
    go_on(page, "Send my ballot")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    assert kept(at, known, tray) == 1
    assert page.evaluate("localStorage.length") == 0


@pytest.mark.usefixtures("complaints")
def test_whatever_is_asked_of_the_cups_the_script_knows_when_it_is_answered(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    """Every shape of question, a known cup beside it or not: first nothing, then all of it."""
    shapes = {
        (type(one.decides(plan_for(name))), bool(one.references)): name
        for name, one in METHODS.items()
    }
    for method in shapes.values():
        known = serving(at, method)
        opened(page, service, known, trays(at, known)[0])
        page.get_by_label("nothing", exact=True).check()
        go_on(page, "To the cups")
        go_on(page, "Go on")
        cups = page.locator("[data-step=cups]")
        assert cups.locator(".reason").count() >= 1, method
        answer_all(cups)
        go_on(page, "Go on")
        assert not cups.is_visible(), method


def answer_all(section: Locator) -> None:
    """The first answers that each of its questions can have."""
    for group in section.get_by_role("radiogroup").all():
        group.get_by_role("radio").first.check()
    for place, field in enumerate(section.get_by_role("combobox").all(), start=1):
        field.select_option(index=place)
    for asked in section.locator("fieldset").all():
        if asked.locator("input").count() and not asked.locator("input:checked").count():
            for number in range(int(asked.get_attribute("data-pick") or 1)):
                asked.locator("input").nth(number).check()


@pytest.mark.usefixtures("complaints")
def test_going_back_and_changing_keeps_what_was_answered(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    opened(page, service, known, tray)
    fill_in(page, tray)
    page.go_back()
    expect(page.get_by_role("heading", name="About your choice")).to_be_visible()
    page.go_forward()
    page.get_by_role("button", name="Change: Odd cup").click()
    page.get_by_label(f"{tray.codes()[2]} third").check()
    go_on(page, "Go on")
    go_on(page, "Read it over")
    expect(page.locator("[data-over=odd]")).to_have_text(tray.codes()[2])


@pytest.mark.usefixtures("complaints")
def test_a_choice_is_forced_in_words(page: Page, service: tuple[str, Flask], at: Workplace) -> None:
    known = serving(at)
    opened(page, service, known, trays(at, known)[0])
    go_on(page, "To the cups")
    group = page.get_by_role("group", name="Before I sat down I knew")
    expect(group).to_contain_text("Choose what is true for you")
    expect(group).to_be_focused()
    page.get_by_label("what was changed").check()
    page.get_by_label("nothing", exact=True).check()
    expect(page.get_by_label("what was changed")).not_to_be_checked()
    go_on(page, "To the cups")
    go_on(page, "Go on")
    expect(page.get_by_text("If you cannot tell, guess")).to_be_visible()


def test_when_the_wifi_drops_it_is_kept_and_goes_by_itself(
    page: Page, context: BrowserContext, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    ref = opened(page, service, known, tray)
    fill_in(page, tray)
    context.set_offline(True)
    go_on(page, "Send my ballot")
    expect(page.get_by_role("status")).to_contain_text("No connection")
    assert page.evaluate(f"localStorage.getItem('panel {ref}') !== null")
    assert kept(at, known, tray) == 0
    context.set_offline(False)
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    assert kept(at, known, tray) == 1
    assert page.evaluate("localStorage.length") == 0


def test_when_the_answer_is_lost_the_ballot_counts_once(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    opened(page, service, known, tray)
    fill_in(page, tray)
    lost: list[str] = []

    def swallow_first(route: Route) -> None:
        if lost:
            route.continue_()
        else:
            lost.append(route.request.url)
            route.fetch(max_redirects=0)  # the service has it, the phone never hears of it
            route.abort()

    page.route("**/send", swallow_first)
    go_on(page, "Send my ballot")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    assert len(lost) == 1
    assert kept(at, known, tray) == 1


def test_a_closed_browser_finds_its_draft_again(
    page: Page, context: BrowserContext, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    opened(page, service, known, tray)
    fill_in(page, tray)
    page.close()
    again = context.new_page()
    opened(again, service, known, tray)
    expect(again.get_by_label("nothing", exact=True)).to_be_checked()
    expect(again.get_by_role("status")).to_contain_text("not sent yet")
    assert kept(at, known, tray) == 0


@pytest.mark.usefixtures("complaints")
def test_what_the_service_refuses_comes_back_filled(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    opened(page, service, known, tray)
    fill_in(page, tray)
    page.evaluate("document.querySelector('[name=csrf_token]').value = 'old'")
    go_on(page, "Send my ballot")
    expect(page.get_by_role("alert")).to_contain_text("Nothing you typed is lost")
    go_on(page, "Send my ballot")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    view = take_ballot.taster_view(at, ref_of(token(at, known, tray)))
    assert view.answers["words"] == ("a little sharper",)


def test_without_a_script_the_same_form_goes_step_by_step(
    browser: Browser, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False, locale="en-GB"
    )
    context.set_default_timeout(10_000)
    page = context.new_page()
    opened(page, service, known, tray)
    go_on(page, "To the cups")
    expect(page.get_by_text("Choose what is true for you")).to_be_visible()
    fill_in(page, tray)
    page.go_back()
    expect(page.get_by_label("I guessed")).to_be_checked()
    go_on(page, "Read it over")
    go_on(page, "Send my ballot")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    assert kept(at, known, tray) == 1
    context.close()


# --- in the hand ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "method", ["triangle", "tetrad", "two-out-of-five", "duo-trio", "paired-preference"]
)
def test_choices_are_as_large_as_a_thumb_on_the_smallest_phone(
    page: Page, service: tuple[str, Flask], at: Workplace, method: str
) -> None:
    page.set_viewport_size({"width": 320, "height": 568})
    known = serving(at, method)
    opened(page, service, known, trays(at, known)[0])
    boxes: list[dict[str, float]] = []
    for _step in range(3):
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        for label in page.locator("section:not([hidden]) label:has(input)").all():
            box = label.bounding_box()
            assert box is not None
            assert box["height"] >= 44
            assert box["width"] >= 44
            boxes.append(dict(box))
        for choice in page.locator("section:not([hidden]) .cup input").all()[:2]:
            if choice.get_attribute("type") == "checkbox" or not choice.is_checked():
                choice.check()
        if page.get_by_label("nothing", exact=True).first.is_visible():
            page.get_by_label("nothing", exact=True).first.check()
        page.locator("section:not([hidden]) button[value=on]").click()
    assert boxes


def test_the_whole_ballot_goes_by_keyboard(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    opened(page, service, known, tray)

    def tab_to(selector: str) -> None:
        for _ in range(30):
            page.keyboard.press("Tab")
            if page.evaluate("s => document.activeElement.matches(s)", selector):
                return
        raise AssertionError(f"the keyboard does not reach {selector}")

    tab_to("input[value=nothing]")
    page.keyboard.press("Space")
    tab_to("button[value=on]")
    page.keyboard.press("Enter")
    tab_to("[name=answer-odd]")
    page.keyboard.press("ArrowRight")
    tab_to("button[value=on]")
    page.keyboard.press("Enter")
    tab_to("button[value=on]")
    page.keyboard.press("Enter")
    tab_to("button[value=send]")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    assert kept(at, known, tray) == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_codes_can_be_read_in_a_pub(
    browser: Browser, service: tuple[str, Flask], at: Workplace, scheme: str
) -> None:
    """Contrast of the codes at least 7:1 (WCAG 2.2, 1.4.6), of the cups' outline 3:1 (1.4.11)."""
    known = serving(at)
    context = browser.new_context(
        viewport={"width": 390, "height": 844},
        color_scheme="dark" if scheme == "dark" else "light",
    )
    page = context.new_page()
    opened(page, service, known, trays(at, known)[0])
    page.get_by_label("nothing", exact=True).check()
    go_on(page, "To the cups")
    cup = page.locator(".cup").first
    colours = cup.evaluate(
        """cup => [getComputedStyle(cup.querySelector(".code")).color,
                   getComputedStyle(cup).backgroundColor, getComputedStyle(cup).borderTopColor,
                   getComputedStyle(document.body).backgroundColor]"""
    )
    code, ground, outline, around = (channels(one) for one in colours)
    assert contrast(code, ground) >= 7
    assert contrast(outline, around) >= 3
    context.close()


def channels(colour: str) -> tuple[float, ...]:
    """The channels of "rgb(22, 33, 46)", 0 to 1."""
    inside = colour[colour.index("(") + 1 : colour.index(")")]
    return tuple(float(part) / 255 for part in inside.split(",")[:3])


def contrast(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """The contrast ratio of two colours, as WCAG 2.2 defines it."""
    light = sorted((luminance(one), luminance(other)))
    return (light[1] + 0.05) / (light[0] + 0.05)


def luminance(colour: tuple[float, ...]) -> float:
    """Relative luminance, as WCAG 2.2 defines it."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def nose(page: Page, tray: Tray, place: int = 0) -> None:
    """From the first question to the first page on which one tastes."""
    page.get_by_label("nothing", exact=True).check()
    go_on(page, "To the cups")
    expect(page.get_by_role("heading", name="By smell alone")).to_be_visible()
    page.locator("[data-step=nose]").get_by_label(f"{tray.codes()[place]}").check()
    go_on(page, "Go on and taste")
    expect(page.get_by_role("heading", name="Now taste, and choose again")).to_be_visible()


@pytest.mark.usefixtures("complaints")
def test_nose_first_the_first_choice_stands_once_the_next_page_is_seen(
    page: Page, service: tuple[str, Flask], at: Workplace
) -> None:
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    opened(page, service, known, tray)
    nose(page, tray)
    page.go_back()
    stands = page.locator("[data-stands]")
    expect(stands).to_be_visible()
    expect(stands.locator("[data-first]")).to_have_text(tray.codes()[0])
    expect(page.locator("[data-step=nose] input[type=radio]").first).not_to_be_visible()
    page.reload()  # the phone keeps the draft, and that its first choice stands
    go_on(page, "To the cups")
    expect(page.locator("[data-stands]")).to_be_visible()
    go_on(page, "Go on and taste")
    page.locator("[data-step=cups]").get_by_label(f"{tray.codes()[1]} second").check()
    go_on(page, "Go on")
    page.get_by_label("I guessed").check()
    go_on(page, "Read it over")
    expect(page.locator("[data-over=nose]")).to_have_text(tray.codes()[0])
    expect(page.get_by_role("button", name="Change: Odd cup, by smell")).to_have_count(0)
    expect(page.get_by_role("button", name="Change: Odd cup, after tasting")).to_be_visible()
    go_on(page, "Send my ballot")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    go_on_link = page.get_by_role("link", name="Change my ballot")
    go_on_link.click()
    go_on(page, "To the cups")
    expect(page.locator("[data-stands] [data-first]")).to_have_text(tray.codes()[0])
    go_on(page, "Go on and taste")
    page.locator("[data-step=cups]").get_by_label(f"{tray.codes()[2]} third").check()
    go_on(page, "Go on")
    go_on(page, "Read it over")
    go_on(page, "Send my ballot")
    expect(page.get_by_role("heading", name="Thank you. Your ballot is in.")).to_be_visible()
    assert kept(at, known, tray) == 2
    with at.units.read() as session:
        last = ballots.revisions(session, known.id, tray.number)[-1].answers
    assert (last["nose"], last["odd"]) == ((tray.codes()[0],), (tray.codes()[2],))
