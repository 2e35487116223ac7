"""The ruler page: its rulers are 100 mm long, and a correction shows on it."""

import numpy as np
import pytest
from numpy.typing import NDArray

from panel.core.names import Paper
from panel.core.paper.geometry import AS_IS, PAGES, ZERO, Printer
from panel.printing.ruler_page import ruler_page
from tests.printing.looking import pictures, sizes, texts

DPI = 600


def strokes(paper: Paper, printer: Printer = AS_IS) -> tuple[list[float], list[float]]:
    """Where the rulers' strokes are in mm: x of those across, y of those down, as measured in the
    picture 1.5 mm beside each ruler's line."""
    (picture,) = pictures(ruler_page(paper, speak=str, printer=printer), DPI)
    x = printer.right + printer.stretch_x * ZERO.x
    y = printer.down + printer.stretch_y * ZERO.y
    scale = DPI / 25.4
    row = picture[round((y - 1.5) * scale)] < 128
    column = picture[:, round((x - 1.5) * scale)] < 128
    return (
        [at for at in _middles(row) if x - 1 < at < x + 103],
        [at for at in _middles(column) if y - 1 < at < y + 103],
    )


def _middles(dark: NDArray[np.bool_]) -> list[float]:
    """The middles in mm of the dark runs of a line of the picture."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], dark, [False])).astype(int)))
    return [float(start + end) / 2 / DPI * 25.4 for start, end in edges.reshape(-1, 2)]


@pytest.mark.parametrize("paper", Paper)
def test_both_rulers_are_true_at_every_millimetre(paper):
    across, down = strokes(paper)
    assert across == pytest.approx([ZERO.x + step for step in range(101)], abs=0.05)
    assert down == pytest.approx([ZERO.y + step for step in range(101)], abs=0.05)


def test_a_correction_shows_on_the_page():
    across, down = strokes(Paper.A4, Printer(1.0, 2.0, 1.01, 0.99))
    assert (across[0], across[-1]) == pytest.approx((1 + 1.01 * 30, 1 + 1.01 * 130), abs=0.05)
    assert (down[0], down[-1]) == pytest.approx((2 + 0.99 * 30, 2 + 0.99 * 130), abs=0.05)


@pytest.mark.parametrize("paper", Paper)
def test_the_page_says_how_to_measure_and_what_it_was_printed_with(paper):
    printed = ruler_page(paper, speak=str, printer=Printer(1.0, -2.0, 1.01, 1.0))
    said = " ".join(texts(printed)[0].split())
    assert "Fit to page" in said
    assert "Both should be 30 mm" in said
    assert "1.0 mm to the right, -2.0 mm down, times 1.0100 across" in said
    page = PAGES[paper]
    assert sizes(printed) == [pytest.approx((page.width, page.height), abs=0.01)]
