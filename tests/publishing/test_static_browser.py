"""The static folder opened in a real browser from the disk, at two sizes, in light and dark."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from panel.publishing.report.edition import Edition
from panel.publishing.static_page import write_static
from tests.publishing.opened import opened, result
from tests.results import Evening, two_tables

pytestmark = pytest.mark.browser

SIZES = {"phone": (360, 740), "laptop": (1280, 800)}


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> tuple[Path, Evening]:
    out = tmp_path_factory.mktemp("static")
    known, seal = opened(two_tables(told=2))
    edition = Edition(link="https://guild.example/abcdefghijklmnop/", software="panel 0.0")
    write_static(result(known), known.comparison, out, opened=seal, edition=edition, bundle=b"PK")
    return out, known


@pytest.fixture(params=[(size, scheme) for size in SIZES for scheme in ("light", "dark")])
def view(request, browser: Browser):
    size, scheme = request.param
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("name", ["index.html", "codes.html"])
def test_it_opens_from_the_disk_and_asks_nothing_of_the_network(view: Page, folder, name):
    out, _ = folder
    asked: list[str] = []
    faults: list[str] = []
    view.on("request", lambda request: asked.append(request.url))
    view.on("console", lambda message: faults.append(message.text))
    view.on("pageerror", lambda error: faults.append(str(error)))
    view.on("requestfailed", lambda request: faults.append(request.url))
    view.goto((out / name).as_uri())
    view.wait_for_load_state("networkidle")
    assert [url for url in asked if not url.startswith((out.as_uri(), "data:,"))] == []
    assert faults == []
    assert view.evaluate("document.fonts.check('600 20px Display')")
    wide = view.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0


MEASURE = """
() => [...document.querySelectorAll('.chart svg text')].map(text => {
  const box = text.getBoundingClientRect();
  return [text.textContent, box.height, box.left, box.right];
})
"""


def test_charts_can_be_read_and_stay_on_the_page(view: Page, folder):
    out, _ = folder
    view.goto((out / "index.html").as_uri())
    width = view.evaluate("window.innerWidth")
    words = view.evaluate(MEASURE)
    assert len(words) > 20
    for text, height, left, right in words:
        assert height >= 11, text  # the box of 9-point type on the narrowest phone
        assert left >= 0, text
        assert right <= width, text


def test_text_stands_out_from_its_ground(view: Page, folder):
    """WCAG 2.2, 1.4.3: at least 4.5 to 1, computed here from what the browser paints."""
    out, _ = folder
    view.goto((out / "index.html").as_uri())
    pairs = view.evaluate(
        """() => [...document.querySelectorAll('h1,h2,h3,p,dt,dd,td,th,a,summary,svg text')].map(
          one => [one.tagName, getComputedStyle(one).color, getComputedStyle(one).fill,
                  getComputedStyle(document.body).backgroundColor])"""
    )
    for tag, colour, fill, ground in pairs:
        painted = fill if tag == "text" else colour
        assert contrast(painted, ground) >= 4.5, (tag, painted, ground)


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    parts = [int(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_a_cup_is_found_by_card_and_code(view: Page, folder):
    out, known = folder
    view.goto((out / "codes.html").as_uri())
    tray = known.trays[16]
    letter = known.key[tray.number][1]
    name = next(beer.name for beer in known.comparison.beers if beer.letter == letter)
    view.get_by_label("Card").fill("17s")
    view.get_by_label("Code").fill(tray.cups[1].code)
    answer = view.get_by_role("status")
    assert answer.text_content() == f"Cup {tray.cups[1].code} on card 17 S held: {name}."
    view.get_by_label("Code").fill("999")
    assert "There is no such cup on that card." in (answer.text_content() or "")


def test_what_it_links_to_lies_beside_it(view: Page, folder):
    out, _ = folder
    view.goto((out / "index.html").as_uri())
    for link, begins in (
        ("Report to print (PDF)", b"%PDF"),
        ("Picture to share", b"\x89PNG"),
        ("Take everything in one file", b"PK"),
    ):
        where = view.get_by_role("link", name=link).get_attribute("href")
        assert where is not None
        assert (out / where).read_bytes().startswith(begins)


def test_it_is_whole_without_scripts(browser: Browser, folder):
    out, known = folder
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((out / "codes.html").as_uri())
    assert page.locator("tbody tr").count() == len(known.trays)
    assert not page.get_by_label("Card").is_visible()
    context.close()
