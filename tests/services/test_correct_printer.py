"""Four numbers from the ruler page straighten every sheet, once for each page that was measured."""

from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from panel import settings as settings_room
from panel.core.errors import Fault, PanelError
from panel.core.names import Role
from panel.core.paper.geometry import Printer
from panel.core.record import INSTANCE
from panel.services import correct_printer, print_kit
from panel.services.correct_printer import correct, correction, mark_of, start_again
from panel.services.workplace import Actor, Workplace, open_workplace
from panel.store import records
from tests.builders import ORGANISER, sealed, workplace

MEASURED = {"across": 99.0, "down": 101.0, "left": 29.0, "top": 31.5}


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as place:
        yield place


def ruler_ends(pdf: bytes) -> tuple[float, float, float, float]:
    """Left, top, right and lower end of both rulers in mm, as the PDF draws its longest lines."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        page = document[0]
        height = page.get_height()
        boxes = [item.get_bounds() for item in page.get_objects(max_depth=5)]
        lines = [(left, height - top, right, height - bottom) for left, bottom, right, top in boxes]
        flat = max(
            (one for one in lines if one[3] - one[1] < 3 and one[1] < 120),
            key=lambda one: one[2] - one[0],
        )
        upright = max(
            (one for one in lines if one[2] - one[0] < 3 and one[0] < 120),
            key=lambda one: one[3] - one[1],
        )
        scale = 25.4 / 72
        return flat[0] * scale, upright[1] * scale, flat[2] * scale, upright[3] * scale
    finally:
        document.close()


def test_a_page_printed_with_the_correction_comes_out_true(at: Workplace) -> None:
    """A simulated printer that puts x at 29 - 0.99 · 30 + 0.99 x: what it is sent has to land on
    30 and 130 mm."""
    known = sealed(at)
    correct(at, ORGANISER, **MEASURED, seen=mark_of(correction(at, ORGANISER)))
    left, top, right, bottom = ruler_ends(print_kit.ruler(at, ORGANISER, known.sittings[0]).pdf)
    assert 29 + 0.99 * (left - 30) == pytest.approx(30, abs=0.3)
    assert 29 + 0.99 * (right - 30) == pytest.approx(130, abs=0.3)
    assert 31.5 + 1.01 * (top - 30) == pytest.approx(30, abs=0.3)
    assert 31.5 + 1.01 * (bottom - 30) == pytest.approx(130, abs=0.3)


def test_every_sheet_is_printed_with_it(at: Workplace) -> None:
    known = sealed(at)
    sitting = known.sittings[0].id
    before = print_kit.sheet(at, ORGANISER, known.id, sitting, "ballot-cards").pdf
    correct(at, ORGANISER, **MEASURED, seen=mark_of(correction(at, ORGANISER)))
    after = print_kit.sheet(at, ORGANISER, known.id, sitting, "ballot-cards").pdf
    assert before != after
    start_again(at, ORGANISER)
    assert print_kit.sheet(at, ORGANISER, known.id, sitting, "ballot-cards").pdf == before


def test_one_page_is_not_counted_twice(at: Workplace) -> None:
    seen = mark_of(correction(at, ORGANISER))
    first = correct(at, ORGANISER, **MEASURED, seen=seen)
    with pytest.raises(PanelError, match="Print the ruler page again") as refusal:
        correct(at, ORGANISER, **MEASURED, seen=seen)
    assert refusal.value.fault is Fault.CLASH
    assert correction(at, ORGANISER) == first
    true = correct(
        at, ORGANISER, across=100.0, down=100.0, left=30.0, top=30.0, seen=mark_of(first)
    )
    assert (true.right, true.stretch_x) == pytest.approx((first.right, first.stretch_x))


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"across": 9.9}, "near 100"),
        ({"down": 3.94}, "near 100"),
        ({"across": 94.1, "down": 94.1}, "fit to page"),
        ({"left": 3.0}, "at most 10 mm"),
    ],
)
def test_what_no_printer_gives_is_refused_and_nothing_kept(
    at: Workplace, numbers: dict[str, float], words: str
) -> None:
    before = correction(at, ORGANISER)
    with pytest.raises(PanelError, match=words):
        correct(at, ORGANISER, **{**MEASURED, **numbers}, seen=mark_of(before))
    assert correction(at, ORGANISER) == before


def test_the_settings_are_where_it_starts_and_it_outlives_the_service(
    sqlite_url: str, tmp_path: Path
) -> None:
    words = {"PANEL_DATABASE_URL": sqlite_url, "PANEL_RIGHT_MILLIMETRES": "1.5",
             "PANEL_PRINT_SCALE": "0.99"}  # fmt: skip
    at = open_workplace(settings_room.load(words, tmp_path))
    start = Printer(right=1.5, stretch_x=1 / 0.99, stretch_y=1 / 0.99)
    assert correction(at, ORGANISER) == start
    new = correct(at, ORGANISER, **MEASURED, seen=mark_of(start))
    at.units.close()
    again = open_workplace(settings_room.load(words, tmp_path))
    assert correction(again, ORGANISER) == new
    assert start_again(again, ORGANISER) == start == correction(again, ORGANISER)
    again.units.close()


def test_only_organisers_and_it_is_recorded(at: Workplace) -> None:
    with pytest.raises(PanelError, match="Only an organiser"):
        correct(at, Actor(Role.STEWARD, "carrier00001"), **MEASURED, seen="")
    correct(at, ORGANISER, **MEASURED, seen=mark_of(correction(at, ORGANISER)))
    with at.units.read() as session:
        assert records.last(session, INSTANCE).what == "printer-corrected"


def test_the_page_and_the_form_say_the_same(at: Workplace) -> None:
    known = sealed(at)
    new = correct(at, ORGANISER, **MEASURED, seen=mark_of(correction(at, ORGANISER)))
    document = pypdfium2.PdfDocument(print_kit.ruler(at, ORGANISER, known.sittings[0]).pdf)
    text = " ".join(document[0].get_textpage().get_text_bounded().split())
    document.close()
    assert str(correct_printer.printed_with(new)) in text
