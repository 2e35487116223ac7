"""Lines and slots, with a face whose every character is half its size wide."""

import pytest

from panel.core.drawing import POINT, Anchor, Face, Text
from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.paper.code_figure import code_figure, code_width
from panel.core.paper.geometry import Box
from panel.core.paper.slot import Fall, Slot, fill, fill_all
from panel.core.typesetting import STUB, Style, held, largest_size, paragraph, wrap

SIZE = 10 / POINT  # points that make one character 5 mm wide
STYLE = Style(Face.TEXT, SIZE)


def measure(text: str, _face: Face, size: float) -> float:
    return len(text) * size * POINT / 2


def lines_of(shapes) -> list[str]:
    return [shape.text for shape in shapes if isinstance(shape, Text)]


def test_lines_break_at_spaces():
    assert wrap("one two three", STYLE, 35, measure) == ("one two", "three")
    assert wrap("", STYLE, 35, measure) == ()
    assert wrap("immeasurable", STYLE, 35, measure) == ("immeasurable",)


def test_a_number_is_not_parted_from_its_unit():
    assert wrap("at most 28 g then", STYLE, 50, measure) == ("at most", "28 g then")
    assert wrap("it is (28 g)", STYLE, 45, measure) == ("it is", "(28 g)")
    assert wrap("see 10.0.0.5:80 then", STYLE, 80, measure) == ("see 10.0.0.5:80", "then")


def test_what_is_held_together_breaks_only_where_it_would_not_fit_at_all():
    assert wrap(f"on {held('2027-03-01 12:00')} x", STYLE, 85, measure) == (
        "on",
        "2027-03-01 12:00",
        "x",
    )
    assert wrap(held("2027-03-01 12:00"), STYLE, 55, measure) == ("2027-03-01", "12:00")


def test_no_short_word_is_left_behind():
    text = "many a word of this text stands here to see how it is in"
    lines = wrap(text, STYLE, 270, measure)
    assert len(lines) == 2
    assert measure(lines[-1], Face.TEXT, SIZE) >= STUB * 270
    assert " ".join(lines) == text


def test_a_paragraph_stacks():
    set_ = paragraph("one two three", 10, 20, 35, STYLE, measure)
    first, second = set_.shapes
    assert isinstance(first, Text)
    assert isinstance(second, Text)
    assert second.y - first.y == pytest.approx(STYLE.line)
    assert set_.height == pytest.approx(2 * STYLE.line)
    assert 20 < first.y < 20 + STYLE.line


@pytest.mark.parametrize(
    ("text", "most"), [("one two three", 1), ("immeasurable", None), ("a immeasurable", 3)]
)
def test_what_does_not_fit_is_refused_by_name(text, most):
    with pytest.raises(PanelError) as refusal:
        paragraph(text, 0, 0, 35, STYLE, measure, what=say("the note"), most=most)
    assert refusal.value.code == "text-does-not-fit"
    assert f"the note: “{text}”" in str(refusal.value)


def test_the_largest_size_that_fits_is_found():
    assert largest_size("four", Face.TEXT, (SIZE, SIZE / 2), 11, measure) == SIZE / 2
    assert largest_size("four", Face.TEXT, (SIZE,), 11, measure) is None


def slot(width: float, height: float = 100, lines: int = 2, **more) -> Slot:
    sizes = more.pop("sizes", (SIZE, 0.95 * SIZE, 0.5 * SIZE))
    return Slot(box=Box(0, 0, width, height), what=say("a name"), sizes=sizes, lines=lines, **more)


def test_a_little_smaller_is_better_than_one_line_more():
    (text,) = fill(slot(34), "one two", measure)
    assert isinstance(text, Text)
    assert text.size == 0.95 * SIZE


def test_much_smaller_is_worse_than_one_line_more():
    shapes = fill(slot(20), "one two", measure)
    assert lines_of(shapes) == ["one", "two"]


def test_lines_are_balanced():
    shapes = fill(slot(50, sizes=(SIZE,)), "aaa bb cc d", measure)
    assert lines_of(shapes) == ["aaa bb", "cc d"]


def test_slots_that_are_alike_share_their_size():
    pair = [(slot(34, alike="x"), "one two"), (slot(34, alike="x"), "one")]
    assert {shape.size for shape in fill_all(pair, measure) if isinstance(shape, Text)} == {
        0.95 * SIZE
    }


@pytest.mark.parametrize("fall", Fall)
def test_text_stands_where_it_falls(fall):
    box = slot(34, 30, 1, fall=fall, anchor=Anchor.END, sizes=(SIZE,))
    (text,) = fill(box, "one", measure)
    assert isinstance(text, Text)
    capitals = 6.6  # 0.66 of 10 mm
    tops = {Fall.TOP: 0, Fall.MIDDLE: (30 - capitals) / 2, Fall.BOTTOM: 30 - capitals}
    assert text.y - capitals == pytest.approx(tops[fall])
    assert text.x == 34


def test_a_slot_too_low_for_its_lines_refuses():
    with pytest.raises(PanelError, match="a name"):
        fill(slot(20, 10, sizes=(SIZE,)), "one two", measure)


def test_a_code_has_one_text_and_a_bar_under_each_six_and_nine():
    text, *bars = code_figure("619", 50, 20, SIZE, measure)
    assert isinstance(text, Text)
    assert text.text == "619"
    assert len(bars) == 2
    width = code_width("619", SIZE, measure)
    assert text.x == pytest.approx(50 - width / 2)
    for bar, digit in zip(bars, (0, 2), strict=True):
        left = text.x + digit * (width + 0.5) / 3
        assert left < bar.x < bar.x + bar.width < left + 5
        assert 20 < bar.y < bar.y + bar.height <= 20 + 1.7 + 1e-9
    assert len(code_figure("457", 50, 20, SIZE, measure)) == 1


def test_a_letter_does_not_stand_on_a_line_of_its_own_if_a_smaller_size_helps():
    sizes = (SIZE, 0.85 * SIZE, 0.7 * SIZE)
    slot = Slot(box=Box(0, 0, 40, 30), what=say("an answer"), sizes=sizes, lines=2)
    assert lines_of(fill(slot, "I guessed", measure)) == ["I guessed"]
    narrow = Slot(box=Box(0, 0, 36, 30), what=say("an answer"), sizes=(SIZE,), lines=2)
    assert lines_of(fill(narrow, "I guessed", measure)) == ["I", "guessed"]
