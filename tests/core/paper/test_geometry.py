"""Boxes, and the correction for a printer that prints out of true."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.errors import PanelError
from panel.core.paper.geometry import AS_IS, ZERO, Box, Printer, printer_from_ruler

shifts = st.floats(-3, 3)
stretches = st.floats(0.985, 1.015)


@given(shifts, shifts, stretches, stretches, st.booleans())
def test_a_measured_printer_prints_true(off_x, off_y, by_x, by_y, again):
    """A simulated printer: what is sent to (x, y) lands at (off_x + by_x·x, off_y + by_y·y)."""
    before = Printer(1.0, -0.5, 1.004, 0.997) if again else AS_IS

    def lands(printer: Printer, x: float, y: float) -> tuple[float, float]:
        sent = printer.right + printer.stretch_x * x, printer.down + printer.stretch_y * y
        return off_x + by_x * sent[0], off_y + by_y * sent[1]

    zero = lands(before, ZERO.x, ZERO.y)
    far = lands(before, ZERO.x + 100, ZERO.y + 100)
    corrected = printer_from_ruler(far[0] - zero[0], far[1] - zero[1], *zero, before)
    assert lands(corrected, 150.0, 220.0) == pytest.approx((150.0, 220.0), abs=1e-6)


@pytest.mark.parametrize("printed", [100 * 279.4 / 297, 100 * 210 / 215.9])
def test_fit_to_page_is_called_by_its_name(printed):
    # A4 on Letter paper is reduced to the page's height, Letter on A4 to its width.
    with pytest.raises(PanelError, match="fit to page"):
        printer_from_ruler(printed, printed, 29.0, 29.0)


def test_a_printer_that_is_far_off_is_measured_again():
    with pytest.raises(PanelError, match="at most 10 mm"):
        printer_from_ruler(100.0, 100.0, 3.0, 30.0)
    with pytest.raises(PanelError, match="near 100"):
        printer_from_ruler(0.0, 100.0, 30.0, 30.0)


def test_boxes_know_what_they_hold_and_meet():
    box = Box(10, 10, 20, 30)
    assert (box.right, box.bottom, box.centre.x, box.centre.y) == (30, 40, 20, 25)
    assert box.holds(box.inset(1))
    assert not box.inset(1).holds(box)
    assert box.meets(Box(29, 39, 5, 5))
    assert not box.meets(Box(31, 10, 5, 5))
    assert box.meets(Box(31, 10, 5, 5), gap=1.5)
