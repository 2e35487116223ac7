"""Findings of one information side by side: a line and a dot each, a diamond for those together.

The axis is the proportion of discriminators. It begins at guessing alone; what reaches below it
ends in an arrow, and a dot that lies below it is open and stands at the edge.
"""

from collections.abc import Iterator
from itertools import chain

from panel.core.drawing import Anchor, Circle, Drawing, Ink, Line, Path, Shape
from panel.core.message import Message, Share, Speak, say, say_n
from panel.core.methods import method_named
from panel.core.side_by_side import OnAxis, Side, Together
from panel.core.statistics.results import Interval
from panel.core.wording.side_by_side import INFORMATION, question_of
from panel.publishing.figures.figure import (
    LEFT,
    RIGHT,
    WIDTH,
    Figure,
    at_share,
    cleared,
    dashed,
    label,
    percent_axis,
    strong,
)

TOP = 6.5
ROW, HEADING = 11.5, 11.0
"""Millimetres from line to line, and of a design's question above its lines."""
ABOVE = 3.4
"""Millimetres from a line up to its words."""
BELOW = 6.6
"""Millimetres under the last line for the words of the axis."""


def forest_chart(side: Side, speak: Speak) -> Figure:
    """All findings of a side. The table's rows come in the order of the picture: the findings of a
    design, then those together."""
    parted = len(side.designs) > 1
    shapes: list[Shape] = []
    y = TOP
    for together in side.designs:
        if parted:
            y += HEADING
            shapes += cleared(
                strong(LEFT + 1.2, y - 1.5, speak(question_of(together)), Anchor.START)
            )
        for entry in together.entries:
            y += ROW
            shapes += _finding(entry, y, speak)
        if together.combined is not None:
            y += ROW
            shapes += _diamond(together, y, speak)
    bottom = y + 3.5
    drawing = Drawing(
        width=WIDTH,
        height=bottom + BELOW,
        shapes=(*_ground(bottom, speak), *shapes),
        title=_title(side, speak),
    )
    heads = (say("Panel"), say("Right"), say("Truly tell apart"), say("95%% range"))
    rows = chain.from_iterable(_rows(together, speak) for together in side.designs)
    return Figure(drawing, tuple(speak(head) for head in heads), tuple(rows))


def _ground(bottom: float, speak: Speak) -> tuple[Shape, ...]:
    return (
        *percent_axis(TOP, bottom, speak),
        dashed(at_share(0), TOP - 2.5, at_share(0), bottom + 0.8),
        label(LEFT - 1.5, TOP - 3.4, speak(say("only guessing")), Anchor.START),
        label(RIGHT + 1.5, TOP - 3.4, speak(say("all truly tell them apart")), Anchor.END),
    )


def _title(side: Side, speak: Speak) -> str:
    name, _ = INFORMATION[side.information]
    lines = sum(len(together.entries) for together in side.designs)
    said = say_n(
        "%(group)s: one finding with the share of tasters who truly tell the two apart",
        "%(group)s: %(count)s findings, each with the share of tasters who truly tell the two "
        "apart",
        lines,
        group=name,
    )
    return speak(said)


# --- lines ----------------------------------------------------------------------------------------


def _finding(entry: OnAxis, y: float, speak: Speak) -> Iterator[Shape]:
    tally = entry.finding.tally
    assert tally is not None  # whoever has a place on the axis has tasters
    yield from _words(y, _name(entry, speak))
    yield from _interval(tally.discriminators_interval, y)
    value = tally.discriminators
    open_dot = value < 0
    yield Circle(
        x=at_share(max(0.0, value)),
        y=y,
        radius=1.6,
        stroke=Ink.BLUE if open_dot else None,
        fill=Ink.PAPER if open_dot else Ink.BLUE,
        width=0.7,
    )


def _interval(interval: Interval, y: float) -> Iterator[Shape]:
    left, right = at_share(max(0.0, interval.low)), at_share(max(0.0, interval.high))
    yield Line(x1=left, y1=y, x2=right, y2=y, ink=Ink.BLUE, width=0.8)
    yield Line(x1=right, y1=y - 1.3, x2=right, y2=y + 1.3, ink=Ink.BLUE, width=0.8)
    if interval.low < 0:
        tip = ((left - 2.4, y), (left, y - 1.5), (left, y + 1.5))
        yield Path(steps=tip, closed=True, stroke=None, fill=Ink.BLUE)
    else:
        yield Line(x1=left, y1=y - 1.3, x2=left, y2=y + 1.3, ink=Ink.BLUE, width=0.8)


def _diamond(together: Together, y: float, speak: Speak) -> Iterator[Shape]:
    combined = together.combined
    assert combined is not None  # the caller has looked
    ends = combined.common.interval
    low, middle, high = (
        at_share(max(0.0, share)) for share in (ends.low, combined.common.value, ends.high)
    )
    yield from cleared(strong(LEFT + 1.2, y - ABOVE, speak(_panels(together)), Anchor.START))
    steps = ((low, y), (middle, y - 2.1), (high, y), (middle, y + 2.1))
    yield Path(steps=steps, closed=True, stroke=Ink.INK, fill=Ink.INK, width=0.3)


def _words(y: float, words: str) -> tuple[Shape, ...]:
    return cleared(label(LEFT + 1.2, y - ABOVE + 0.2, words, Anchor.START, ink=Ink.INK))


def _name(entry: OnAxis, speak: Speak) -> str:
    return speak(
        say(
            "%(mark)s: %(correct)s of %(tasters)s right, %(test)s",
            mark=entry.mark,
            correct=entry.finding.correct,
            tasters=entry.finding.tasters,
            test=method_named(entry.finding.method).name,
        )
    )


def _panels(together: Together) -> Message:
    assert together.combined is not None  # as above
    return say_n(
        "one panel",
        "%(count)s panels together, %(tasters)s tasters",
        together.combined.panels,
        tasters=together.combined.tasters,
    )


# --- the table ------------------------------------------------------------------------------------


def _rows(together: Together, speak: Speak) -> Iterator[tuple[str, ...]]:
    for entry in together.entries:
        tally = entry.finding.tally
        assert tally is not None  # as above
        count = say(
            "%(count)s of %(tasters)s", count=entry.finding.correct, tasters=entry.finding.tasters
        )
        yield (
            f"{entry.mark}: {entry.comparison.title}",
            speak(count),
            _share(tally.discriminators, speak),
            _range(tally.discriminators_interval, speak),
        )
    combined = together.combined
    if combined is not None:
        yield (
            speak(_panels(together)),
            "",
            _share(combined.common.value, speak),
            _range(combined.common.interval, speak),
        )


def _share(value: float, speak: Speak) -> str:
    if value < 0:
        return speak(say("fewer than by guessing"))
    return speak(say("%(share)s", share=Share(value)))


def _range(interval: Interval, speak: Speak) -> str:
    if interval.high < 0:
        return speak(say("fewer than by guessing"))
    return speak(
        say("%(low)s to %(high)s", low=Share(max(0.0, interval.low)), high=Share(interval.high))
    )
