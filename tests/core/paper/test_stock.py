"""Label and card sheets: common grids held, impossible ones refused with a sentence."""

import pytest

from panel.core.errors import PanelError
from panel.core.names import Paper
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.geometry import PAGES
from panel.core.paper.stock import LABELS, PLAIN, Stock, sheets_needed

# Common practice, no source: labels a sheet, columns x rows, label, margins. The margins are
# (page - grid) / 2 to within 0.05 mm, which the next test recomputes.
GRIDS = {
    "a4-65": (5, 13, 38.1, 21.2),
    "a4-48": (4, 12, 45.7, 21.2),
    "a4-40": (4, 10, 48.5, 25.4),
    "a4-24": (3, 8, 63.5, 33.9),
    "a4-24-edge": (3, 8, 70.0, 37.0),
    "a4-21": (3, 7, 63.5, 38.1),
    "a4-14": (2, 7, 99.1, 38.1),
    "letter-80": (4, 20, 44.45, 12.7),
    "letter-60": (4, 15, 44.45, 16.93),
    "letter-30": (3, 10, 66.675, 25.4),
    "letter-20": (2, 10, 101.6, 25.4),
    "letter-10": (2, 5, 101.6, 50.8),
}


@pytest.mark.parametrize(("name", "grid"), GRIDS.items())
def test_the_usual_sheets_are_there(name, grid):
    stock = LABELS[name]
    assert (stock.columns, stock.rows, stock.width, stock.height) == grid


@pytest.mark.parametrize("stock", LABELS.values(), ids=LABELS)
def test_every_grid_sits_in_the_middle_of_its_page(stock):
    last = stock.cell(stock.count - 1)
    page = PAGES[stock.paper]
    assert stock.left == pytest.approx(page.width - last.right, abs=0.06)
    if not stock.plain:
        assert stock.top == pytest.approx(page.height - last.bottom, abs=0.06)


@pytest.mark.parametrize(
    "stock", [*LABELS.values(), *(one.sheet for one in CARD_FORMATS.values())], ids=lambda s: s.id
)
def test_no_two_cells_overlap_and_all_lie_on_the_page(stock):
    cells = list(stock.cells())
    assert len(cells) == stock.columns * stock.rows
    assert all(stock.page.holds(cell, 0.05) for cell in cells)
    for index, cell in enumerate(cells):
        assert not any(cell.meets(other, -0.01) for other in cells[index + 1 :])


def own(**changes: float) -> Stock:
    measures = dict(
        columns=4, rows=10, width=48.5, height=25.4, pitch_x=48.5, pitch_y=25.4, left=8.0, top=21.5
    )
    return Stock(id="own", paper=Paper.A4, **{**measures, **changes})


def test_a_sheet_of_ones_own_has_its_cells():
    assert own(columns=2, left=10.0).cell(3).x == pytest.approx(58.5)


@pytest.mark.parametrize(
    ("changes", "code", "said"),
    [
        ({"columns": 5}, "stock-columns", "5 columns end 40.5 mm beyond the page’s right edge"),
        ({"rows": 11}, "stock-rows", "11 rows end 3.9 mm beyond the page’s lower edge"),
        ({"pitch_x": 40.0}, "stock-pitch_x", "48.5 mm wide would overlap"),
        ({"pitch_y": 20.0}, "stock-pitch_y", "25.4 mm high would overlap"),
        ({"left": -1.0}, "stock-left", "cannot begin outside the page"),
        ({"width": 0.0}, "stock-width", "wider and higher than nothing"),
        ({"columns": 0}, "stock-columns", "at least one column"),
    ],
)
def test_a_grid_that_cannot_be_is_refused_with_a_sentence(changes, code, said):
    with pytest.raises(PanelError) as refusal:
        own(**changes)
    assert refusal.value.code == code
    assert said in str(refusal.value)


def test_there_is_plain_paper_for_each_page_size():
    assert all(PLAIN[paper].plain and PLAIN[paper].paper is paper for paper in Paper)


def test_a_cell_beyond_the_sheet_is_a_mistake():
    with pytest.raises(ValueError, match="65 cells"):
        LABELS["a4-65"].cell(65)


def test_sheets_are_counted_with_the_used_labels_of_the_first():
    stock = LABELS["a4-65"]
    assert sheets_needed(stock, 0) == 0
    assert sheets_needed(stock, 65) == 1
    assert sheets_needed(stock, 65, skip=1) == 2
    with pytest.raises(PanelError, match="between 0 and 64"):
        sheets_needed(stock, 10, skip=65)
