"""Hits and false alarms on two lines: how often the answer was given where it is true, and where
it is not. Whoever cannot tell has both dots at one place."""

from panel.core.detection import DetectionFinding
from panel.core.drawing import Anchor, Circle, Drawing, Ink, Line, Shape
from panel.core.message import Message, Share, Speak, say
from panel.core.statistics.results import Interval
from panel.core.wording.detection import method_of
from panel.publishing.figures.figure import (
    LEFT,
    WIDTH,
    Figure,
    at_share,
    cleared,
    label,
    percent,
    percent_axis,
    strong,
)

TOP, FIRST, SECOND, BOTTOM, HEIGHT = 2.0, 15.5, 33.5, 39.0, 45.5
ABOVE = 9.6
"""Millimetres from a line up to the words of what it is."""


def detection_chart(finding: DetectionFinding, speak: Speak) -> Figure | None:
    """Both rates with their exact 95 % intervals; None where one of them has nobody."""
    test, rates, method = finding.test, finding.rates, method_of(finding)
    if test is None:
        return None
    lines = (
        (FIRST, method.targets, rates.hits, rates.targets, test.hit_interval, True),
        (SECOND, method.others, rates.false_alarms, rates.others, test.false_alarm_interval, False),
    )
    shapes: list[Shape] = [*percent_axis(TOP, BOTTOM, speak)]
    rows: list[tuple[str, ...]] = []
    for y, what, count, of, interval, full in lines:
        name = speak(say("“%(answer)s” of %(what)s", answer=method.called, what=what))
        shapes += _line(y, count / of, interval, full)
        shapes += cleared(label(LEFT - 1.5, y - ABOVE, name, Anchor.START, ink=Ink.INK))
        shapes += _words(count / of, y, speak(_of(count, of)))
        rows.append(
            (name, speak(_of(count, of)), percent(count / of, speak), _ends(interval, speak))
        )
    drawing = Drawing(
        width=WIDTH,
        height=HEIGHT,
        shapes=tuple(shapes),
        title=speak(
            say(
                "“%(answer)s” of %(hits)s where it was true, and of %(alarms)s where it was not",
                answer=method.called,
                hits=_of(rates.hits, rates.targets),
                alarms=_of(rates.false_alarms, rates.others),
            )
        ),
    )
    heads = (say("What"), say("Count"), say("Share"), say("95%% range"))
    return Figure(drawing, tuple(speak(head) for head in heads), tuple(rows))


def _of(count: int, of: int) -> Message:
    return say("%(count)s of %(tasters)s", count=count, tasters=of)


def _ends(interval: Interval, speak: Speak) -> str:
    return speak(say("%(low)s to %(high)s", low=Share(interval.low), high=Share(interval.high)))


def _line(y: float, share: float, interval: Interval, full: bool) -> tuple[Shape, ...]:
    """Interval and dot: full where the answer was true, open where it was not."""
    left, right = at_share(interval.low), at_share(interval.high)
    return (
        Line(x1=left, y1=y, x2=right, y2=y, ink=Ink.BLUE, width=0.9),
        *(Line(x1=x, y1=y - 1.6, x2=x, y2=y + 1.6, ink=Ink.BLUE, width=0.9) for x in (left, right)),
        Circle(
            x=at_share(share),
            y=y,
            radius=1.9,
            stroke=None if full else Ink.BLUE,
            fill=Ink.BLUE if full else Ink.PAPER,
        ),
    )


def _words(share: float, y: float, words: str) -> tuple[Shape, ...]:
    x = at_share(share)
    anchor = Anchor.END if share > 0.9 else Anchor.START if share < 0.1 else Anchor.MIDDLE
    return cleared(strong(x, y - 3.2, words, anchor))
