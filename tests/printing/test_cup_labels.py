"""Cup labels: every cup once, in tray order, inside its label, upside down told apart."""

from dataclasses import replace

import pytest

from panel.core.comparison import Cup, Tray
from panel.core.errors import PanelError
from panel.core.names import Paper
from panel.core.paper.geometry import Box, Printer
from panel.core.paper.stock import LABELS, PLAIN, Stock
from panel.printing.cup_labels import cup_labels
from tests.printing.looking import extent_of_ink, pictures, sizes, starts, texts
from tests.printing.orders import an_order


def codes_in(page: str) -> list[str]:
    return [word for word in page.split() if word.isdigit() and len(word) == 3]


@pytest.mark.parametrize("stock", LABELS.values(), ids=LABELS)
def test_every_cup_has_one_label_in_tray_order(stock):
    order = an_order(24)
    pages = texts(cup_labels(order, stock))
    printed = [code for page in pages for code in codes_in(page)]
    assert printed == [code for tray in order.trays for code in tray.codes()]
    assert "tray 1 B, cup 1" in pages[0]


def same_codes(count: int) -> tuple[Tray, ...]:
    """Trays whose codes are all 808, which looks the same from left and right."""
    return tuple(
        Tray(number=n, sitting="s", wave=1, place=n, cups=(Cup(1, "808"), Cup(2, "808")))
        for n in range(1, count + 1)
    )


@pytest.mark.parametrize("stock", LABELS.values(), ids=LABELS)
def test_labels_are_in_their_places_to_a_tenth_of_a_millimetre(stock):
    """Where the texts begin, read from the file: the code in the middle of its label, one pitch
    from label to label both ways."""
    order = replace(an_order(1), trays=same_codes(-(-stock.count // 2)))
    printed = cup_labels(order, stock)
    found = [(x, y) for text, x, y in starts(printed) if text.startswith("808")]
    left, _, right, _ = extent_of_ink(pictures(printed, 600)[0], 600, _inside(stock.cell(0)))
    assert (left + right) / 2 == pytest.approx(stock.cell(0).centre.x, abs=0.1)
    for (x, y), cell in zip(found, stock.cells(), strict=True):
        first = stock.cell(0)
        assert x - found[0][0] == pytest.approx(cell.x - first.x, abs=0.02)
        assert y - found[0][1] == pytest.approx(cell.y - first.y, abs=0.02)


@pytest.mark.parametrize("stock", LABELS.values(), ids=LABELS)
def test_ink_stays_inside_the_label(stock):
    """At 300 dpi: 2 mm at the sides and above, a little less below for the tail of a "y"."""
    order = replace(an_order(1), trays=same_codes(-(-stock.count // 2)))
    (picture, *_) = pictures(cup_labels(order, stock), 300)
    for cell in stock.cells():
        left, top, right, bottom = extent_of_ink(picture, 300, _inside(cell))
        assert min(left - cell.x, cell.right - right, top - cell.y) >= 1.9
        assert cell.bottom - bottom >= 1.3
        assert (top + bottom) / 2 == pytest.approx(cell.centre.y, abs=0.6)


def _inside(cell: Box) -> tuple[float, float, float, float]:
    inner = cell.inset(0.8)
    return inner.x, inner.y, inner.width, inner.height


def test_codes_are_at_least_18_points():
    """Capitals of Source Sans are 0.66 em high (its OS/2 table): 18 points give 4.2 mm."""
    for stock in LABELS.values():
        order = replace(an_order(1), trays=same_codes(1))
        cell = stock.cell(0).inset(1.0)
        picture = pictures(cup_labels(order, stock), 300)[0]
        upper = (cell.x, cell.y, cell.width, cell.height * 0.7)
        _, top, _, bottom = extent_of_ink(picture, 300, upper)
        assert bottom - top >= 0.66 * 18 * 25.4 / 72


@pytest.mark.parametrize(("code", "barred"), [("609", 2), ("457", 0), ("916", 2), ("806", 1)])
def test_six_and_nine_have_a_bar_at_their_feet(code, barred):
    """Ink below the code's base line and above the small line: one bar for each 6 and 9."""
    stock = LABELS["a4-14"]
    tray = Tray(number=1, sitting="s", wave=1, place=1, cups=(Cup(1, code),))
    printed = cup_labels(replace(an_order(1), trays=(tray,)), stock)
    (base,) = [y for text, _, y in starts(printed) if text == code]
    row = pictures(printed, 300)[0][round((base + 2.2) * 300 / 25.4)]
    cell = stock.cell(0)
    dark = row[: round(cell.right * 300 / 25.4)] < 128
    bars = int((dark[1:] & ~dark[:-1]).sum())
    assert bars == barred


def test_used_labels_of_the_first_sheet_are_left_out():
    stock = LABELS["a4-65"]
    order = an_order(24)
    pages = texts(cup_labels(order, stock, skip=60))
    assert [len(codes_in(page)) for page in pages] == [5, 65, 2]
    picture = pictures(cup_labels(order, stock, skip=60), 72)[0]
    used = stock.cell(59)
    assert (picture[: int(used.y / 25.4 * 72)] == 255).all()


def test_more_used_labels_than_a_sheet_has_are_refused():
    with pytest.raises(PanelError, match="between 0 and 64"):
        cup_labels(an_order(1), LABELS["a4-65"], skip=65)


def test_a_label_too_small_for_a_code_is_refused():
    tiny = Stock(
        id="tiny",
        paper=Paper.A4,
        columns=10,
        rows=20,
        width=17,
        height=10,
        pitch_x=18,
        pitch_y=12,
        left=10,
        top=20,
    )
    with pytest.raises(PanelError) as refusal:
        cup_labels(an_order(1), tiny)
    assert refusal.value.code == "label-too-small"


@pytest.mark.parametrize("paper", Paper)
def test_plain_paper_has_cut_marks_and_a_foot(paper):
    stock = PLAIN[paper]
    printed = cup_labels(an_order(2), stock)
    (said,) = texts(printed)
    assert "Spring evening · Cup labels · page 1 of 1" in said
    assert sizes(printed) == [pytest.approx((stock.page.width, stock.page.height), abs=0.01)]
    (picture,) = pictures(printed, 300)
    corner = stock.cell(0)
    around = (corner.x - 4, corner.y - 4, 8.0, 8.0)
    left, top, right, bottom = extent_of_ink(picture, 300, around)
    assert ((left + right) / 2, (top + bottom) / 2) == pytest.approx((corner.x, corner.y), abs=0.1)


def test_bought_sheets_have_nothing_but_labels():
    order = an_order(1)
    (said,) = texts(cup_labels(order, LABELS["letter-30"]))
    words = [word for word in said.replace(",", "").split() if not word.isdigit()]
    assert set(words) == {"tray", "B", "cup"}


def test_swapping_the_beers_changes_no_byte():
    order = an_order(6)
    first, second = order.comparison.beers
    swapped = replace(
        order.comparison, beers=(replace(second, letter="A"), replace(first, letter="B"))
    )
    stock = LABELS["a4-65"]
    assert cup_labels(order, stock) == cup_labels(replace(order, comparison=swapped), stock)


def test_a_printers_shift_moves_every_label():
    stock = LABELS["a4-24"]
    order = replace(an_order(1), trays=same_codes(12))
    straight = starts(cup_labels(order, stock))
    moved = starts(cup_labels(replace(order, printer=Printer(1.5, -2.0)), stock))
    for (_, x, y), (_, x2, y2) in zip(straight, moved, strict=True):
        assert (x2 - x, y2 - y) == pytest.approx((1.5, -2.0), abs=0.01)
