"""One finding on a line: what was observed, how far the votes reach, and where guessing stands."""

from panel.core.comparison import Comparison
from panel.core.drawing import Anchor, Circle, Drawing, Ink, Line, Shape
from panel.core.findings import Finding
from panel.core.message import Message, Share, Speak, say
from panel.core.wording.counts import ahead, did
from panel.publishing.figures.figure import (
    WIDTH,
    Figure,
    at_share,
    beside,
    cleared,
    dashed,
    label,
    percent,
    percent_axis,
    strong,
)

TOP, MIDDLE, BOTTOM, HEIGHT = 6.5, 16.0, 23.0, 29.5


def finding_chart(finding: Finding, comparison: Comparison, speak: Speak) -> Figure | None:
    """The chart of one finding: dot, 95 % interval, chance line. None where nobody chose.

    With two sides it shows the share of the beer that is ahead.
    """
    if finding.tally is None:
        return None
    count, low, high, verb = _shown(finding, comparison, speak)
    share, chance = count / finding.tasters, float(finding.chance)
    shapes: tuple[Shape, ...] = (
        *percent_axis(TOP, BOTTOM, speak),
        *_chance(finding, chance, speak),
        *_interval(low, high),
        Circle(x=at_share(share), y=MIDDLE, radius=1.9, stroke=None, fill=Ink.BLUE),
        *_words(share, speak(_of(count, finding.tasters))),
    )
    rows = (
        (verb, speak(_of(count, finding.tasters))),
        (speak(say("Share")), percent(share, speak)),
        (speak(say("95%% range")), speak(_range(low, high))),
        (speak(_chance_word(finding)), percent(chance, speak)),
    )
    drawing = Drawing(
        width=WIDTH,
        height=HEIGHT,
        shapes=shapes,
        title=speak(
            say(
                "%(of)s, %(share)s; the votes fit %(range)s; guessing gives %(chance)s",
                of=_of(count, finding.tasters),
                share=Share(share),
                range=_range(low, high),
                chance=Share(chance),
            )
        ),
    )
    return Figure(drawing, (speak(say("What")), speak(say("Value"))), rows)


def _shown(finding: Finding, comparison: Comparison, speak: Speak) -> tuple[int, float, float, str]:
    """Count, interval and verb of the side that is shown."""
    assert finding.tally is not None  # the caller has looked
    interval = finding.tally.interval
    if finding.sides == 1:
        verb = speak(did(finding, comparison))
        return finding.correct, interval.low, interval.high, verb
    best, _, count = ahead(finding, comparison)
    low, high = interval.low, interval.high
    if best != finding.counted_beer:
        low, high = 1 - high, 1 - low
    return count, low, high, speak(did(finding, comparison, best))


def _of(count: int, tasters: int) -> Message:
    return say("%(count)s of %(tasters)s", count=count, tasters=tasters)


def _range(low: float, high: float) -> Message:
    return say("%(low)s to %(high)s", low=Share(low), high=Share(high))


def _chance_word(finding: Finding) -> Message:
    return say("a coin") if finding.sides == 2 else say("guessing")


def _chance(finding: Finding, chance: float, speak: Speak) -> tuple[Shape, ...]:
    x = at_share(chance)
    place, anchor = beside(x)
    return (
        dashed(x, TOP - 2.5, x, BOTTOM + 0.8),
        label(place, TOP - 1.2, speak(_chance_word(finding)), anchor),
    )


def _interval(low: float, high: float) -> tuple[Shape, ...]:
    left, right = at_share(low), at_share(high)
    return (
        Line(x1=left, y1=MIDDLE, x2=right, y2=MIDDLE, ink=Ink.BLUE, width=0.9),
        *(
            Line(x1=x, y1=MIDDLE - 1.6, x2=x, y2=MIDDLE + 1.6, ink=Ink.BLUE, width=0.9)
            for x in (left, right)
        ),
    )


def _words(share: float, words: str) -> tuple[Shape, ...]:
    x = at_share(share)
    anchor = Anchor.END if share > 0.92 else Anchor.START if share < 0.08 else Anchor.MIDDLE
    return cleared(strong(x, MIDDLE - 3.2, words, anchor))
