"""How often guessing alone gives each count, with the observed count among them."""

from collections.abc import Callable

from panel.core.comparison import Comparison
from panel.core.drawing import Anchor, Drawing, Ink, Line, Rect, Shape, rule
from panel.core.findings import Finding, Verdict
from panel.core.guessing import guessing_distribution
from panel.core.message import Number, Speak, say
from panel.core.names import Aim
from panel.core.wording.counts import ahead
from panel.publishing.figures.figure import (
    LEFT,
    RIGHT,
    WIDTH,
    Figure,
    beside,
    dashed,
    label,
    strong,
)

FIRST_ROW, SECOND_ROW, TOP, BOTTOM, HEIGHT = 4.5, 10.5, 13.5, 42.0, 48.5
RARE = 1e-4
"""Counts rarer than this are left out at both ends, unless the observed one is among them."""


def guessing_chart(finding: Finding, comparison: Comparison, speak: Speak) -> Figure | None:
    """The distribution of guessing as bars; the observed count a full bar, what was needed a line.

    None where nobody chose. With two sides the count is of the beer that is ahead.
    """
    if not finding.tasters:
        return None
    observed = finding.correct if finding.sides == 1 else ahead(finding, comparison)[2]
    chances = guessing_distribution(finding.tasters, finding.chance)
    shown = _shown(chances, observed)
    step = (RIGHT - LEFT) / len(shown)
    scale = (BOTTOM - TOP) / max(chances)

    def middle(count: float) -> float:
        return LEFT + (count - shown.start + 0.5) * step

    bars = tuple(
        _bar(middle(count), step, chances[count] * scale, count == observed) for count in shown
    )
    drawing = Drawing(
        width=WIDTH,
        height=HEIGHT,
        shapes=(
            *bars,
            rule(LEFT, RIGHT, BOTTOM, Ink.SOFT, 0.25),
            *(label(middle(count), BOTTOM + 4.6, str(count)) for count in _ticks(shown)),
            *_needed(finding, shown, middle, observed, speak),
            *_observed(middle(observed), BOTTOM - chances[observed] * scale, observed, speak),
        ),
        title=speak(
            say(
                "How often guessing alone gives each count, for %(tasters)s; %(count)s were "
                "observed",
                tasters=finding.tasters,
                count=observed,
            )
        ),
    )
    columns = (speak(say("Right")), speak(say("By guessing, in 100 panels")))
    rows = tuple((str(count), _in_100(chances[count], speak)) for count in shown)
    return Figure(drawing, columns, rows)


def _shown(chances: tuple[float, ...], observed: int) -> range:
    usual = [count for count, chance in enumerate(chances) if chance >= RARE]
    return range(min(usual[0], observed), max(usual[-1], observed) + 1)


def _ticks(shown: range) -> range:
    """At most ten counts under the axis."""
    every = next(width for width in (1, 2, 5, 10, 20, 50, 100, 1000) if len(shown) <= 10 * width)
    first = -(-shown.start // every) * every
    return range(first, shown.stop, every)


def _bar(x: float, step: float, height: float, observed: bool) -> Shape:
    width = max(0.3, step * 0.72)
    if observed:  # so that it is seen where guessing hardly ever goes
        height = max(height, 0.6)
    return Rect(
        x=x - width / 2,
        y=BOTTOM - height,
        width=width,
        height=height,
        fill=Ink.BLUE if observed else Ink.OUTLINE,
    )


def _needed(
    finding: Finding,
    shown: range,
    middle: Callable[[float], float],
    observed: int,
    speak: Speak,
) -> tuple[Shape, ...]:
    """The line between counts that decide and counts that do not, where there is one to see.

    Its words stand on the side away from the observed count.
    """
    if finding.decisive is None or finding.verdict is Verdict.COUNT_ONLY:
        return ()
    similar = finding.aim is Aim.SIMILARITY
    edge = finding.decisive + 0.5 if similar else finding.decisive - 0.5
    if not shown.start - 0.5 <= edge <= shown.stop - 0.5:
        return ()
    word = say("%(count)s needed", count=finding.decisive)
    if similar:
        word = say("at most %(count)s", count=finding.decisive)
    x = middle(edge)
    place, anchor = (x - 1.2, Anchor.END) if observed > edge else beside(x)
    return (
        dashed(x, SECOND_ROW - 3.0, x, BOTTOM + 1.0),
        label(place, SECOND_ROW, speak(word), anchor),
    )


def _observed(x: float, top: float, observed: int, speak: Speak) -> tuple[Shape, ...]:
    """The count in words above everything, and a line down to its bar."""
    end = x > 0.85 * WIDTH
    anchor = Anchor.END if end else Anchor.START if x < 0.15 * WIDTH else Anchor.MIDDLE
    return (
        Line(x1=x, y1=FIRST_ROW + 1.2, x2=x, y2=top, ink=Ink.BLUE, width=0.35),
        strong(x, FIRST_ROW, speak(say("%(count)s here", count=observed)), anchor),
    )


def _in_100(chance: float, speak: Speak) -> str:
    if 100 * chance < 0.1:
        return speak(say("less than %(limit)s", limit=Number(0.1, 1)))
    return speak(say("%(number)s", number=Number(100 * chance, 1)))
