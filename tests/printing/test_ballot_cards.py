"""Ballot cards as they come out of the printer: read back, measured, compared, refused."""

from dataclasses import replace
from math import hypot

import numpy as np
import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.errors import PanelError
from panel.core.message import Message
from panel.core.methods import METHODS
from panel.core.names import Information
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.card_parts import PlaceKind
from panel.core.paper.geometry import Printer
from panel.core.plan import Plan
from tests.core.invented import a_sitting
from tests.printing.looking import codes, middle_of_ink, pictures, sizes, texts
from tests.printing.orders import addresses_of, an_order, cards, questions_of, with_sitting

A4, LETTER = (210.0, 297.0), (215.9, 279.4)


@pytest.mark.parametrize("address", ["http://192.168.1.20:8000", "https://tastings.guild.example"])
@pytest.mark.parametrize(("format", "count"), [("a6", 10), ("quarter-letter", 5), ("a5", 3)])
def test_every_code_is_read_from_the_page_at_200_dpi(format, count, address):
    order = an_order(count)
    printed = cards(order, format, address)
    read = [code for picture in pictures(printed, 200) for code in codes(picture)]
    assert sorted(read) == sorted(addresses_of(order, address).codes.values())


def test_codes_are_read_from_a_coarse_print_too():
    order = an_order(4)
    (picture,) = pictures(cards(order), 110)
    assert sorted(codes(picture)) == sorted(addresses_of(order).codes.values())


@pytest.mark.parametrize(
    ("format", "paper", "pages"),
    [
        ("a6", A4, 2),
        ("quarter-letter", LETTER, 2),
        ("a5", A4[::-1], 3),
        ("half-letter", LETTER[::-1], 3),
        ("a5-large-print", A4[::-1], 3),
        ("half-letter-large-print", LETTER[::-1], 3),
    ],
)
def test_cards_fill_their_paper(format, paper, pages):
    printed = sizes(cards(an_order(6), format))
    assert len(printed) == pages
    assert all(size == pytest.approx(paper, abs=0.01) for size in printed)


@pytest.mark.parametrize("format", ["a6", "quarter-letter", "a5-large-print"])
def test_marks_and_places_are_where_the_reader_looks_for_them(format):
    """Measured on the page at 300 dpi: corner marks and rings within 0.1 mm of the layout."""
    order = an_order(4)
    known = CARD_FORMATS[format]
    layout = card_layout(questions_of(order), 3, (), known)
    picture = pictures(cards(order, format), 300)[0]
    places = [
        (cell.x + at.x, cell.y + at.y, reach)
        for cell in known.sheet.cells()
        for at, reach in (
            *((mark, 4.5) for mark in layout.marks),
            *(
                (place.centre, 1.35 * place.radius)
                for place in layout.places
                if place.kind is PlaceKind.MARK
            ),
        )
    ]
    for x, y, reach in places:
        found = middle_of_ink(picture, 300, x, y, reach)
        assert hypot(found[0] - x, found[1] - y) < 0.1


def test_small_squares_and_the_code_are_where_the_layout_says():
    order = an_order(1)
    layout = card_layout(questions_of(order), 3, (), CARD_FORMATS["a6"])
    (picture,) = pictures(cards(order), 300)
    for place in layout.places:
        if place.kind is PlaceKind.TAKE_BACK:
            found = middle_of_ink(picture, 300, place.centre.x, place.centre.y, 2.0)
            assert hypot(found[0] - place.centre.x, found[1] - place.centre.y) < 0.1
    scale = 300 / 25.4
    code = layout.code.inset(-3.5)
    crop = picture[
        round(code.y * scale) : round(code.bottom * scale),
        round(code.x * scale) : round(code.right * scale),
    ]
    rows, columns = np.flatnonzero((crop < 128).any(1)), np.flatnonzero((crop < 128).any(0))
    assert (rows[0] / scale, columns[0] / scale) == pytest.approx((3.5, 3.5), abs=0.1)
    assert ((rows[-1] + 1 - rows[0]) / scale) == pytest.approx(22.0, abs=0.1)


def test_an_empty_ring_is_empty_and_its_outline_is_light():
    """The reader's score: share of a ring's inside (0.72 of the radius) that is dark."""
    order = an_order(1)
    layout = card_layout(questions_of(order), 3, (), CARD_FORMATS["a6"])
    (picture,) = pictures(cards(order), 300)
    scale = 300 / 25.4
    for place in layout.places:
        left, top = (int((at - 4) * scale) for at in (place.centre.x, place.centre.y))
        near = picture[top : top + 95, left : left + 95]
        down, across = np.mgrid[top : top + 95, left : left + 95] + 0.5
        far = np.hypot(across - place.centre.x * scale, down - place.centre.y * scale) / scale
        assert (near[far < 0.72 * place.radius] == 255).all()
        if place.kind is PlaceKind.MARK:
            assert 60 < near[abs(far - place.radius) < 0.1].min() < 130


def test_a_card_says_what_it_has_to_say():
    order = an_order(1)
    (said,) = texts(cards(order))
    tray = order.trays[0]
    assert said.count(card_number(tray.number)) == 2  # on the card and on its stub
    assert all(said.count(code) >= 2 for code in tray.codes())
    for words in (
        "Two saisons",
        "beer · Spring evening",
        "Which cup is different?",
        "Before I sat",
        "Fill the ring. Changed your mind? Fill the small square beside it.",
        "No camera? At 192.168.1.20:8000 type",
        addresses_of(order).short_codes[1],
        "you may go back",
        "192.168.1.20:8000/k7xq2m4p9rtvw3za",
    ):
        assert words in said
    order_of_codes = [said.index(code) for code in tray.codes()]
    assert order_of_codes == sorted(order_of_codes)


def test_a_card_says_nothing_that_tells():
    order = an_order(8)
    said = " ".join(texts(cards(order)))
    comparison = order.comparison
    telling = [comparison.title, comparison.variable, *(beer.name for beer in comparison.beers)]
    assert not any(word in said for word in telling)


def test_a_cut_pile_is_in_order():
    order = an_order(10)
    pages = texts(cards(order))
    first = [min(int(word) for word in _numbers(page)) for page in pages]
    assert first == [1, 2, 3]
    assert _numbers(pages[0]) == ["1", "4", "7", "10"]


def _numbers(page: str) -> list[str]:
    words = page.replace("\n", " ").split("Keep this. Card ")[1:]
    return sorted((word.split()[0] for word in words), key=int)


TOO_SMALL = {
    "ranking": ("a6", "quarter-letter", "a5-large-print"),
    "a-not-a-both": ("a6", "quarter-letter", "a5-large-print"),
}
"""An order has a ring for every cup in every place, and two cups with two rings each are no less:
they take a card of half a page."""


@pytest.mark.parametrize("format", CARD_FORMATS)
@pytest.mark.parametrize("method", METHODS)
def test_every_method_prints_on_every_card(method, format):
    known = METHODS[method]
    order = an_order(1, known.cups, method)
    if format in TOO_SMALL.get(method, ()):
        with pytest.raises(PanelError, match=r"Print a larger card|Ask less"):
            cards(order, format, "https://tastings.harbourguild.example")
        return
    (said,) = texts(cards(order, format, "https://tastings.harbourguild.example"))
    assert all(code in said for code in order.trays[0].codes())


def test_large_cards_take_every_side_question():
    plan = Plan(method="tetrad", ask_went_by=True, ask_prefer=True)
    order = an_order(2, 4, plan=plan)
    (said,) = texts(cards(order, "a5"))
    assert "bitterness" in said
    assert "Which cup do you like best?" in said


# Sentences a third longer than the English, as a translator would write them.
GERMAN = {
    "No camera? At %(address)s type": "Keine Kamera? Unter %(address)s eintippen:",
    "Fill the ring. Changed your mind? Fill the small square beside it.": (
        "Ring ausfüllen. Anders überlegt? Das kleine Quadrat daneben füllen."
    ),
    "Before I sat down I knew": "Bevor ich mich setzte, wusste ich",
    "what was changed": "was verändert wurde",
    "I helped brew or pour": "ich half beim Brauen oder Ausschenken",
    "I have done this test before": "ich habe diesen Test schon gemacht",
    "Taste from left to right; you may go back. Swallow or spit as you like.": (
        "Von links nach rechts kosten; Zurückgehen ist erlaubt. Schlucken oder spucken."
    ),
    "Choose two cups that are the same. The other two then make the other pair.": (
        "Wählen Sie zwei Becher, die gleich sind. Die anderen beiden sind dann das andere Paar."
    ),
    "not sure": "nicht sicher",
    "Keep this. Card %(number)s": "Bitte behalten. Karte %(number)s",
    "The result, after closing: %(address)s": "Das Ergebnis, nach dem Abschluss: %(address)s",
}


def german(message: Message) -> str:
    return str(replace(message, id=GERMAN.get(message.id, message.id)))


@pytest.mark.parametrize("format", CARD_FORMATS)
def test_longer_languages_fit_and_move_no_place(format):
    order = an_order(2, 4, "tetrad")
    translated = replace(order, speak=german)
    printed = cards(translated, format)
    assert "Bitte behalten. Karte 1 B" in texts(printed)[0]
    layout = card_layout(questions_of(order), 4, (), CARD_FORMATS[format])
    picture = pictures(printed, 300)[0]
    for place in layout.places:
        if place.kind is PlaceKind.MARK:
            found = middle_of_ink(picture, 300, place.centre.x, place.centre.y, 3.4)
            assert hypot(found[0] - place.centre.x, found[1] - place.centre.y) < 0.1


# --- the same whatever the beers, the information or the printing -------------------------------


def test_same_order_same_bytes():
    assert cards(an_order(5)) == cards(an_order(5))


def test_swapping_the_beers_changes_no_byte():
    order = an_order(6)
    first, second = order.comparison.beers
    swapped = replace(
        order.comparison,
        beers=(replace(second, letter="A"), replace(first, letter="B")),
        variable="something else",
    )
    assert cards(order) == cards(replace(order, comparison=swapped))


def test_an_informed_sitting_has_the_same_cards():
    order = an_order(6)
    told = with_sitting(order, information=Information.INFORMED, told="One was fermented cool.")
    assert cards(order) == cards(told)


def test_the_trays_order_does_not_matter():
    order = an_order(6)
    assert cards(order) == cards(replace(order, trays=order.trays[::-1]))


def test_a_printer_is_corrected():
    order = an_order(1)
    (straight,) = pictures(cards(order), 300)
    (shifted,) = pictures(cards(replace(order, printer=Printer(2.0, -1.0, 1.01, 0.99))), 300)
    x, y = middle_of_ink(straight, 300, 8.5, 8.5, 4.5)
    sent = middle_of_ink(shifted, 300, 2.0 + 1.01 * 8.5, -1.0 + 0.99 * 8.5, 4.5)
    assert sent == pytest.approx((2.0 + 1.01 * x, -1.0 + 0.99 * y), abs=0.05)


def test_progress_is_told():
    told: list[tuple[int, int]] = []
    cards(replace(an_order(10), progress=lambda done, whole: told.append((done, whole))))
    assert told == [(1, 3), (2, 3), (3, 3)]


# --- names --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Δύο ζύθοι", "Два сезонных", "Żółta łódź ěščřž", "Øl på fjærå"])
def test_latin_greek_and_cyrillic_names_are_printed(name):
    order = with_sitting(an_order(1, neutral_title=name), name=name)
    (said,) = texts(cards(order))
    assert said.count(name) == 2


@pytest.mark.parametrize(
    ("name", "character"), [("ビール", "katakana letter bi"), ("Beer 🍺", "beer mug")]
)
def test_other_scripts_are_refused_by_name(name, character):
    with pytest.raises(PanelError) as refusal:
        cards(an_order(1, neutral_title=name))
    assert refusal.value.code == "unprintable-name"
    assert character in str(refusal.value)
    assert name in str(refusal.value)


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"neutral_title": "A very long title " * 8}, "neutral title"),
        (
            {"sittings": (a_sitting(name="A sitting with a name that never ends " * 4),)},
            "the drink and the sitting's name",
        ),
    ],
)
def test_a_text_that_does_not_fit_is_refused_by_name(changes, named):
    with pytest.raises(PanelError) as refusal:
        cards(an_order(1, **changes))
    assert refusal.value.code == "text-does-not-fit"
    assert named in str(refusal.value)


def test_the_longest_address_that_a_code_holds_is_printed_too():
    address = "http://a-very-long-name.harbourguild.example"
    order = an_order(4)
    printed = cards(order, "a6", address)
    assert max(map(len, addresses_of(order, address).codes.values())) == 61
    assert "a-very-long-name.harbourguild.example" in texts(printed)[0]
    assert len(codes(pictures(printed, 200)[0])) == 4


def test_an_address_too_wide_for_the_card_is_refused():
    with pytest.raises(PanelError, match="the address to type"):
        cards(an_order(1), "a6", "http://" + "w" * 37)


@pytest.mark.parametrize("name", CARD_FORMATS)
def test_nothing_to_be_read_is_nearer_the_paper_s_edge_than_printers_reach(name):
    """Office printers leave about 4.2 mm white (common practice, no source); the lower cards' stubs
    stand at the very foot of the sheet, and with them the address of the result."""
    for page in pictures(cards(an_order(8), name), 100):
        high, wide = page.shape
        dark = page < 200
        margin = round(4.2 / 25.4 * 100)
        rows = dark[high - margin :].mean(axis=1)
        assert rows.max() < 0.02  # cut marks alone, a few strokes across
        assert dark[:margin].mean(axis=1).max() < 0.02
        assert dark[:, :margin].mean(axis=0).max() < 0.02
        assert dark[:, wide - margin :].mean(axis=0).max() < 0.02
