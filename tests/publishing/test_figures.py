"""Figures measured: places on the axis, words, tables beside, size."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from panel.core.drawing import Circle, Drawing, Ink, Line, Rect, Text
from panel.core.names import Aim, CardStanding, Knew, Reason
from panel.core.plan import Plan
from panel.core.result import Result, result_of
from panel.core.statistics import power_curve
from panel.core.svg import svg
from panel.publishing.figures import (
    Figure,
    Marked,
    finding_chart,
    flow_chart,
    guessing_chart,
    power_chart,
)
from tests.results import (
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    times,
    two_tables,
)

LEFT, WIDE = 4.0, 92.0
LARGEST = 15_000
"""Bytes of one figure as SVG, so that a page of figures opens on a weak line."""


def result(event: Evening) -> Result:
    return result_of(event.comparison, event.key, event.trays, event.ballots)


def chart(event: Evening) -> Figure:
    figure = finding_chart(result(event).findings[0], event.comparison, str)
    assert figure is not None
    return figure


def preference(right: int, tasters: int) -> Evening:
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2)
    return evening(comparison(plan), right_and_wrong("blue", right, tasters))


def words(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.shapes if isinstance(shape, Text)]


def on_axis(share: float) -> float:
    return LEFT + WIDE * share


def test_the_dot_stands_at_the_share_and_the_line_is_the_interval():
    """15 of 36, exact interval 25.51 % to 59.24 % (scipy.stats, as in the findings' tests)."""
    drawing = chart(two_tables()).drawing
    (dot,) = (shape for shape in drawing.shapes if isinstance(shape, Circle))
    assert dot.x == pytest.approx(on_axis(15 / 36))
    line = max(
        (one for one in drawing.shapes if isinstance(one, Line) and one.ink is Ink.BLUE),
        key=lambda one: one.x2 - one.x1,
    )
    assert line.x1 == pytest.approx(on_axis(0.25514), abs=0.01)
    assert line.x2 == pytest.approx(on_axis(0.59243), abs=0.01)
    (chance,) = (one for one in drawing.shapes if isinstance(one, Line) and one.dash)
    assert chance.x1 == chance.x2 == pytest.approx(on_axis(1 / 3))


def test_the_axis_runs_from_nothing_to_all():
    drawing = chart(two_tables()).drawing
    assert [word for word in words(drawing) if word.endswith("%")] == [
        "0%",
        "20%",
        "40%",
        "60%",
        "80%",
        "100%",
    ]
    assert "15 of 36" in words(drawing)
    assert drawing.title == "15 of 36, 42%; the votes fit 26% to 59%; guessing gives 33%"


def test_the_same_numbers_stand_in_the_table_beside():
    assert chart(two_tables()).rows == (
        ("found the odd cup", "15 of 36"),
        ("Share", "42%"),
        ("95% range", "26% to 59%"),
        ("guessing", "33%"),
    )


def test_with_two_sides_the_beer_ahead_is_shown():
    """6 of 36 for the first beer is 30 of 36 for the second, and its interval turned round."""
    turned, straight = chart(preference(6, 36)), chart(preference(30, 36))
    assert turned.rows[0] == ("preferred the saison from the keg", "30 of 36")
    assert turned.rows[1:] == straight.rows[1:]


def test_no_chart_is_drawn_of_nobody():
    event = evening(comparison(), [])
    finding = result(event).findings[0]
    assert finding_chart(finding, event.comparison, str) is None
    assert guessing_chart(finding, event.comparison, str) is None


def test_guessing_is_drawn_as_high_as_it_is_likely():
    event = two_tables()
    figure = guessing_chart(result(event).findings[0], event.comparison, str)
    assert figure is not None
    bars = [shape for shape in figure.drawing.shapes if isinstance(shape, Rect)]
    highest = max(bars, key=lambda bar: bar.height)
    (observed,) = (bar for bar in bars if bar.fill is Ink.BLUE)
    # P(X = 15) / P(X = 12) for 36 and 1/3: C(36,15)/C(36,12) / 2³, by hand
    ratio = 5567902560 / 1251677700 / 8
    assert observed.height / highest.height == pytest.approx(ratio, rel=1e-6)
    assert {"15 here", "18 needed"} <= set(words(figure.drawing))
    assert figure.rows[0][1] == "less than 0.1"
    assert ("15", "7.8") in figure.rows  # 0.0778 by scipy.stats.binom.pmf


def test_an_observed_count_that_guessing_never_gives_is_still_drawn():
    event = evening(comparison(), right_and_wrong("blue", 36, 36))
    figure = guessing_chart(result(event).findings[0], event.comparison, str)
    assert figure is not None
    (observed,) = (
        one for one in figure.drawing.shapes if isinstance(one, Rect) and one.fill is Ink.BLUE
    )
    assert observed.height >= 0.5


def test_the_power_of_a_plan_is_a_saw_tooth_with_its_numbers_marked():
    """ISO 4120-like case, pd 30 %, alpha 5 %: power .8155 at 40, .7709 at 41 (scipy, exact)."""
    curve = power_curve(3, 60, Fraction(1, 3), Decimal("0.05"), Fraction(8, 15))
    figure = power_chart(curve, 0.8, Marked(first=40, holding=42, planned=36), str)
    assert {"40: first reached", "42: holds from here", "36: planned"} <= set(words(figure.drawing))
    assert ("40", "19", "82%") in figure.rows
    assert ("41", "20", "77%") in figure.rows
    dots = [shape for shape in figure.drawing.shapes if isinstance(shape, Circle)]
    assert len(dots) == 3


def test_numbers_outside_the_curve_are_not_marked():
    curve = power_curve(3, 20, Fraction(1, 3), Decimal("0.05"), Fraction(8, 15))
    figure = power_chart(curve, 0.8, Marked(first=40, holding=None, planned=2), str)
    assert not [shape for shape in figure.drawing.shapes if isinstance(shape, Circle)]
    assert figure.rows[0] == ("3", "3", "15%")


def test_what_became_of_the_trays():
    one = Answered(sitting="blue")
    aside = replace(one, standing=CardStanding.SET_ASIDE)
    trays = (
        *right_and_wrong("blue", 3, 9),
        replace(one, knew=(Knew.HELPED,)),
        replace(aside, outcome=None, reason=Reason.MISFILLED),
        replace(aside, outcome=None, reason=Reason.NOT_RETURNED),
        replace(aside, reason=Reason.TALKED),
        replace(one, late=True),
        *times(5, replace(one, outcome=None, standing=CardStanding.PRINTED, spare=True)),
    )
    figure = flow_chart(result(evening(comparison(), trays)), str)
    assert figure.rows == (
        ("drawn", "19"),
        ("– never needed", "5"),
        ("used", "14"),
        ("– misfilled", "1"),
        ("handed out", "13"),
        ("– not returned", "1"),
        ("returned", "12"),
        ("– talked", "1"),
        ("– came after closing", "1"),
        ("counted: blinded", "9"),
        ("counted: told at the table", "1"),
    )
    assert {"19", "14", "13", "12", "9"} <= set(words(figure.drawing))
    assert "1 talked" in words(figure.drawing)


def every_figure() -> list[Figure]:
    event = two_tables(told=2)
    known = result(event)
    large = evening(comparison(), right_and_wrong("blue", 180, 400))
    curve = power_curve(3, 120, Fraction(1, 3), Decimal("0.05"), Fraction(8, 15))
    figures = [
        *(finding_chart(finding, event.comparison, str) for finding in known.findings),
        *(guessing_chart(finding, event.comparison, str) for finding in known.findings),
        guessing_chart(result(large).findings[0], large.comparison, str),
        chart(preference(18, 36)),
        flow_chart(known, str),
        power_chart(curve, 0.8, Marked(40, 42, 36), str),
    ]
    return [figure for figure in figures if figure is not None]


def test_every_figure_can_be_read_without_eyes_colours_or_a_fast_line():
    for number, figure in enumerate(every_figure()):
        written = svg(figure.drawing, f"figure-{number}")
        assert len(written.encode()) < LARGEST
        assert "style=" not in written
        root = ElementTree.fromstring(written)
        assert root.attrib["role"] == "img"
        assert root[0].tag.endswith("title")
        assert root[0].text
        assert all(len(row) == len(figure.columns) for row in figure.rows)
        for shape in figure.drawing.shapes:
            if isinstance(shape, Text):
                assert -0.5 <= shape.x <= figure.drawing.width
                assert 2 <= shape.y <= figure.drawing.height
