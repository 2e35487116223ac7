"""Findings side by side, measured: lines and diamond, what lies below guessing, the table."""

from itertools import pairwise

import pytest

from panel.core.drawing import Circle, Drawing, Ink, Line, Path, Text
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.result import result_of
from panel.core.side_by_side import Side, side_by_side
from panel.core.svg import svg
from panel.publishing.figures import Figure, forest_chart
from tests.results import comparison, evening, right_and_wrong

LEFT, WIDE = 4.0, 92.0


def side(*tables: tuple[int, int, Plan]) -> Side:
    found = []
    for right, tasters, plan in tables:
        event = evening(comparison(plan), right_and_wrong("blue", right, tasters))
        result = result_of(event.comparison, event.key, event.trays, event.ballots)
        found.append((event.comparison, result.findings))
    return side_by_side(found).sides[0]


TRIANGLE = Plan(method="triangle")
DUO_TRIO = Plan(method="duo-trio")


def at(share: float) -> float:
    return LEFT + WIDE * share


def lines(drawing: Drawing) -> list[Line]:
    """The level ones, from the top down."""
    level = [one for one in drawing.shapes if isinstance(one, Line) and one.ink is Ink.BLUE]
    return sorted((one for one in level if one.y1 == one.y2), key=lambda one: one.y1)


def dots(drawing: Drawing) -> list[Circle]:
    return [one for one in drawing.shapes if isinstance(one, Circle)]


def paths(drawing: Drawing, ink: Ink) -> list[Path]:
    return [one for one in drawing.shapes if isinstance(one, Path) and one.fill is ink]


def texts(drawing: Drawing) -> list[str]:
    return [one.text for one in drawing.shapes if isinstance(one, Text)]


def two() -> Figure:
    return forest_chart(side((15, 36, TRIANGLE), (24, 36, TRIANGLE)), str)


def test_dots_and_lines_stand_where_the_numbers_are() -> None:
    """15 of 36: exact interval of the proportion 25.514 % to 59.243 % (scipy.stats.beta), which is
    −11.7 % to 38.9 % who tell apart; 24 of 36: 50 %, from 23.4 % on."""
    drawing = two().drawing
    assert [dot.x for dot in dots(drawing)] == pytest.approx([at(0.125), at(0.5)])
    first, second = lines(drawing)
    assert (first.x1, first.x2) == pytest.approx((at(0), at((0.59243 - 1 / 3) * 1.5)), abs=0.01)
    assert second.x1 == pytest.approx(at((0.49030 - 1 / 3) * 1.5), abs=0.01)
    (arrow,) = paths(drawing, Ink.BLUE)  # only the first reaches below guessing
    assert min(step[0] for step in arrow.steps) < at(0)


def test_the_diamond_lies_below_and_ends_where_the_interval_does() -> None:
    """39 of 72: 31.25 % who tell apart; proportion 42.002 % to 65.976 % (scipy.stats.beta)."""
    drawing = two().drawing
    (diamond,) = paths(drawing, Ink.INK)
    xs = [step[0] for step in diamond.steps]
    assert xs == pytest.approx(
        [at((0.42002 - 1 / 3) * 1.5), at(0.3125), at((0.65976 - 1 / 3) * 1.5), at(0.3125)], abs=0.01
    )
    assert min(step[1] for step in diamond.steps) > max(one.y1 for one in lines(drawing))
    assert "2 panels together, 72 tasters" in texts(drawing)


def test_one_finding_has_no_diamond_and_no_heading() -> None:
    figure = forest_chart(side((15, 36, TRIANGLE)), str)
    assert paths(figure.drawing, Ink.INK) == []
    assert "Can the two be told apart?" not in texts(figure.drawing)
    assert len(figure.rows) == 1


def test_designs_stand_under_their_questions() -> None:
    same = Plan(method="triangle", aim=Aim.SIMILARITY)
    figure = forest_chart(side((15, 36, TRIANGLE), (10, 36, same), (9, 20, DUO_TRIO)), str)
    said = texts(figure.drawing)
    assert said.index("Can the two be told apart?") < said.index("Are the two close enough?")
    assert [row[0].split(":")[0] for row in figure.rows] == [
        "1", "3", "2 panels together, 56 tasters", "2",
    ]  # fmt: skip
    heights = [one.y for one in figure.drawing.shapes if isinstance(one, Text) and ": " in one.text]
    assert all(b - a >= 11 for a, b in pairwise(heights))


def test_below_guessing_is_an_open_dot_at_the_edge_and_said_in_words() -> None:
    figure = forest_chart(side((1, 24, TRIANGLE), (15, 24, TRIANGLE)), str)
    below, above = dots(figure.drawing)
    assert (below.x, below.fill, below.stroke) == (at(0), Ink.PAPER, Ink.BLUE)
    assert (above.fill, above.stroke) == (Ink.BLUE, None)
    assert figure.rows[0][1:] == ("1 of 24", "fewer than by guessing", "fewer than by guessing")


def test_nothing_leaves_the_picture_and_forty_are_still_small() -> None:
    figure = forest_chart(side(*((n % 25, 24, TRIANGLE) for n in range(40))), str)
    drawing = figure.drawing
    for shape in drawing.shapes:
        if isinstance(shape, Line):
            assert min(shape.x1, shape.x2) >= 0
            assert max(shape.x1, shape.x2) <= drawing.width
            assert max(shape.y1, shape.y2) <= drawing.height
        if isinstance(shape, Path):
            assert all(0 <= step[0] <= drawing.width for step in shape.steps)
        if isinstance(shape, Text):
            assert shape.y <= drawing.height
    assert len(svg(drawing, "forest").encode()) < 35_000
    assert len(figure.rows) == 41


def test_the_title_says_what_it_is_and_the_table_has_the_numbers() -> None:
    figure = two()
    assert figure.drawing.title.startswith("Blinded: 2 findings")
    assert figure.columns == ("Panel", "Right", "Truly tell apart", "95% range")
    assert figure.rows[0][1:] == ("15 of 36", "12%", "0% to 39%")
    assert figure.rows[2][1:] == ("", "31%", "13% to 49%")
