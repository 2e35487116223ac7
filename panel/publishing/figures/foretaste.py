"""A simulated evening: its tasters as cups, and under them how other evenings came out."""

from collections import Counter

from panel.core.drawing import Anchor, Circle, Drawing, Ink, Shape, rule
from panel.core.foretaste import Evening, Rule, Told
from panel.core.message import Speak, say
from panel.core.names import Aim
from panel.publishing.figures.figure import LEFT, RIGHT, WIDTH, Figure, beside, dashed, label

ACROSS = 20
PITCH, CUP = (RIGHT - LEFT) / ACROSS, 1.75
MOST_CUPS = 100
"""More tasters are not drawn one by one."""

DOT, DOT_PITCH = 0.85, 2.0
GAP, FOOT = 11.0, 6.5


def foretaste_chart(evening: Evening, law: Rule, speak: Speak) -> Figure:
    """Cups: full who could tell, with a dot who was right by luck, empty who was wrong. Dots: the
    right answers of other evenings, full where they show what the plan asks for."""
    cups, height = _cups(evening)
    stacks = Counter(evening.counts)
    base = height + GAP + DOT_PITCH * max(stacks.values())
    number = law.turnout.tasters
    drawing = Drawing(
        width=WIDTH,
        height=base + FOOT,
        shapes=(
            *cups,
            rule(LEFT, RIGHT, base, Ink.SOFT, 0.25),
            *_dots(stacks, law, base),
            *_needed(law, base, height + 4.0, speak),
            *(
                label(_at(count, number), base + 4.6, str(count), _anchor(count, number))
                for count in _ticks(number)
            ),
        ),
        title=speak(
            say(
                "%(knew)s who could tell, %(luck)s right by luck, %(wrong)s wrong; and how many "
                "of %(evenings)s other evenings came to each count",
                knew=evening.of(Told.KNEW),
                luck=evening.of(Told.LUCK),
                wrong=evening.of(Told.WRONG),
                evenings=len(evening.counts),
            )
        ),
    )
    columns = (
        speak(say("Right")),
        speak(say("Of %(count)s evenings", count=len(evening.counts))),
        speak(say("Shows it")),
    )
    yes, no = speak(say("yes")), speak(say("no"))
    rows = tuple(
        (str(count), str(stacks[count]), yes if law.decides(count) else no)
        for count in sorted(stacks)
    )
    return Figure(drawing, columns, rows)


def _cups(evening: Evening) -> tuple[tuple[Shape, ...], float]:
    """One ring for each taster, those who could tell first; and the height they take."""
    if len(evening.tasters) > MOST_CUPS:
        return (), 0.0
    order = list(Told)
    shapes: list[Shape] = []
    for place, told in enumerate(sorted(evening.tasters, key=order.index)):
        row, column = divmod(place, ACROSS)
        x, y = LEFT + (column + 0.5) * PITCH, (row + 0.5) * PITCH
        fill = Ink.BLUE if told is Told.KNEW else None
        stroke = Ink.SOFT if told is Told.WRONG else Ink.BLUE
        shapes.append(Circle(x=x, y=y, radius=CUP, stroke=stroke, fill=fill, width=0.35))
        if told is Told.LUCK:
            shapes.append(Circle(x=x, y=y, radius=CUP * 0.38, stroke=None, fill=Ink.BLUE))
    rows = -(-len(evening.tasters) // ACROSS)
    return tuple(shapes), rows * PITCH


def _at(count: float, number: int) -> float:
    return LEFT + count / number * (RIGHT - LEFT)


def _dots(stacks: Counter[int], law: Rule, base: float) -> list[Shape]:
    dots: list[Shape] = []
    for count, many in stacks.items():
        fill = Ink.BLUE if law.decides(count) else Ink.PAPER
        x = _at(count, law.turnout.tasters)
        for place in range(many):
            y = base - (place + 0.5) * DOT_PITCH - 0.3
            dots.append(Circle(x=x, y=y, radius=DOT, stroke=Ink.BLUE, fill=fill, width=0.3))
    return dots


def _needed(law: Rule, base: float, top: float, speak: Speak) -> tuple[Shape, ...]:
    """The line between counts that decide and those that do not; both with two sides."""
    decisive, number = law.turnout.decisive, law.turnout.tasters
    if decisive is None:
        return ()
    similar = law.aim is Aim.SIMILARITY
    edge = decisive + 0.5 if similar else decisive - 0.5
    word = (
        say("at most %(count)s", count=decisive)
        if similar
        else say("%(count)s needed", count=decisive)
    )
    x = _at(edge, number)
    place, anchor = beside(x)
    lines: tuple[Shape, ...] = (
        dashed(x, top, x, base + 1.0),
        label(place, top + 2.4, speak(word), anchor),
    )
    if law.sides == 1:
        return lines
    other = _at(number - edge, number)
    return (*lines, dashed(other, top, other, base + 1.0))


def _ticks(number: int) -> range:
    every = next(width for width in (1, 2, 5, 10, 20, 50, 100, 1000) if number <= 10 * width)
    return range(0, number + 1, every)


def _anchor(count: int, number: int) -> Anchor:
    return Anchor.START if count == 0 else Anchor.END if count == number else Anchor.MIDDLE
