"""Power against the number of tasters: a saw-tooth, because counts are whole numbers."""

from collections.abc import Callable
from dataclasses import dataclass

from panel.core.drawing import Anchor, Circle, Drawing, Ink, Line, Shape, polyline
from panel.core.message import Message, Share, Speak, say
from panel.core.statistics import PowerCurve
from panel.publishing.figures.figure import (
    RIGHT,
    WIDTH,
    Figure,
    beside,
    cleared,
    dashed,
    label,
    percent,
    strong,
)

START, TOP, BOTTOM, HEIGHT = 13.0, 6.0, 48.0, 58.5

Across = Callable[[float], float]
"""From a number of tasters to millimetres."""


@dataclass(frozen=True)
class Marked:
    """Numbers of tasters to be pointed out; None where there is none within the curve."""

    first: int | None = None  # the first that reaches the target, as the standards' tables print
    holding: int | None = None  # from here on power never falls below the target again
    planned: int | None = None
    expected: int | None = None  # instead of `planned`, where fewer are believed to come


def power_chart(curve: PowerCurve, target: float, marked: Marked, speak: Speak) -> Figure:
    """The exact power of a plan at each number of tasters.

    curve: at least two numbers. target: the power aimed at, 0..1, a dashed line.
    """
    low, high = curve.tasters[0], curve.tasters[-1]

    def across(tasters: float) -> float:
        return START + (tasters - low) / max(1, high - low) * (RIGHT - START)

    points = tuple(
        (across(tasters), _up(power))
        for tasters, power in zip(curve.tasters, curve.power, strict=True)
    )
    drawing = Drawing(
        width=WIDTH,
        height=HEIGHT,
        shapes=(
            *_levels(speak),
            *_numbers(low, high, across, speak),
            dashed(START, _up(target), RIGHT, _up(target)),
            polyline(points, Ink.BLUE, 0.5),
            *_marks(curve, marked, across, speak),
        ),
        title=speak(
            say(
                "Power from %(low)s to %(high)s tasters against a target of %(target)s",
                low=low,
                high=high,
                target=Share(target),
            )
        ),
    )
    columns = (
        speak(say("Tasters")),
        speak(say("Right answers needed")),
        speak(say("Chance of seeing it")),
    )
    return Figure(drawing, columns, _rows(curve, speak))


def _up(share: float) -> float:
    return BOTTOM - share * (BOTTOM - TOP)


def _levels(speak: Speak) -> tuple[Shape, ...]:
    steps = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
    lines = tuple(
        Line(x1=START, y1=_up(step), x2=RIGHT, y2=_up(step), ink=Ink.HAIRLINE, width=0.25)
        for step in steps
    )
    words = tuple(
        label(START - 1.5, _up(step) + 1.2, percent(step, speak), Anchor.END) for step in steps
    )
    return lines + words


def _numbers(low: int, high: int, across: Across, speak: Speak) -> tuple[Shape, ...]:
    """At most eight numbers under the axis, and what they count."""
    widths = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000)
    every = next(width for width in widths if high - low <= 8 * width)
    first = -(-low // every) * every
    numbers = tuple(
        label(across(tasters), BOTTOM + 4.6, str(tasters))
        for tasters in range(first, high + 1, every)
    )
    return (*numbers, label((START + RIGHT) / 2, BOTTOM + 9.3, speak(say("tasters"))))


def _marks(curve: PowerCurve, marked: Marked, across: Across, speak: Speak) -> tuple[Shape, ...]:
    """Each number on the curve as a dot, a line down and its words, one under the other."""
    words: tuple[tuple[int | None, Message], ...] = (
        (marked.first, say("%(count)s: first reached", count=marked.first or 0)),
        (marked.holding, say("%(count)s: holds from here", count=marked.holding or 0)),
        (marked.expected, say("%(count)s: expected", count=marked.expected or 0))
        if marked.expected is not None
        else (marked.planned, say("%(count)s: planned", count=marked.planned or 0)),
    )
    power = dict(zip(curve.tasters, curve.power, strict=True))
    lines: list[Shape] = []
    texts: list[Shape] = []
    for row, (tasters, word) in enumerate(words):
        if tasters is not None and tasters in power:
            x, y = across(tasters), _up(power[tasters])
            base = BOTTOM - 15.0 + 5.5 * row
            place, anchor = beside(x, 40.0)
            lines += (
                Line(x1=x, y1=y, x2=x, y2=BOTTOM, ink=Ink.SOFT, width=0.25),
                Circle(x=x, y=y, radius=1.1, stroke=None, fill=Ink.BLUE),
            )
            texts += cleared(strong(place, base, speak(word), anchor))
    return (*lines, *texts)


def _rows(curve: PowerCurve, speak: Speak) -> tuple[tuple[str, ...], ...]:
    none = speak(say("no count would do"))
    return tuple(
        (str(tasters), none if needed is None else str(needed), percent(power, speak))
        for tasters, needed, power in zip(
            curve.tasters, curve.critical_numbers, curve.power, strict=True
        )
    )
