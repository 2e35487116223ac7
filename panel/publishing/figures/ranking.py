"""Mean places on a line, a row for each drink: dots, and bars that tell which lie apart."""

from collections.abc import Mapping

from panel.core.drawing import Anchor, Circle, Drawing, Ink, Line, Shape, Text
from panel.core.message import Message, Number, Speak, say
from panel.core.rankings import RankingFinding
from panel.core.wording.rankings import in_turn, listed, quoted, together
from panel.publishing.figures.figure import (
    LEFT,
    RIGHT,
    WIDTH,
    Figure,
    beside,
    cleared,
    dashed,
    label,
    strong,
)

TOP, ROW, FOOT = 9.5, 12.5, 11.5
"""Millimetres: above the first row, for each row, and for the axis below."""


def ranking_chart(found: RankingFinding, names: Mapping[str, str], speak: Speak) -> Figure | None:
    """The chart of a group's rankings; None where nobody ranked.

    Two drinks whose bars do not overlap lie apart with all pairs held side by side. Where lost
    trays have undone the balance every pair has a distance of its own, and no bars are drawn.
    """
    if found.test is None or found.pairs is None:
        return None
    places = found.mean_places
    bottom = TOP + len(places) * ROW
    half = (found.distance or 0) / 2
    shapes: list[Shape] = [*_axis(found.cups, bottom, speak), *_chance(found.cups, bottom, speak)]
    for row, (letter, mean) in enumerate(places):
        shapes += _row(TOP + row * ROW, letter, mean, half, found.cups, names, speak)
    title = speak(
        say(
            "Mean places, the first being 1: %(places)s",
            places=listed(
                [
                    say("%(beer)s %(place)s", beer=_name(letter, names), place=Number(mean, 2))
                    for letter, mean in places
                ]
            ),
        )
    )
    drawing = Drawing(width=WIDTH, height=bottom + FOOT, shapes=tuple(shapes), title=title)
    columns = tuple(map(speak, (say("Drink"), say("Mean place"), say("Tasted by"), say("Before"))))
    return Figure(drawing, columns, _table(found, names, speak))


def _name(letter: str, names: Mapping[str, str]) -> str:
    return names.get(letter) or letter


def _at(place: float, cups: int) -> float:
    inset = 6.0
    at = LEFT + inset + (place - 1) / (cups - 1) * (RIGHT - LEFT - 2 * inset)
    return min(max(at, 0.5), WIDTH - 0.5)


def _axis(cups: int, bottom: float, speak: Speak) -> list[Shape]:
    shapes: list[Shape] = []
    for place in range(1, cups + 1):
        x = _at(place, cups)
        shapes.append(Line(x1=x, y1=TOP - 2, x2=x, y2=bottom, ink=Ink.HAIRLINE, width=0.25))
        shapes.append(label(x, bottom + 4.6, str(place)))
    shapes.append(label(LEFT - 1.5, bottom + 9.6, speak(say("first")), Anchor.START))
    shapes.append(label(RIGHT + 1.5, bottom + 9.6, speak(say("last")), Anchor.END))
    return shapes


def _chance(cups: int, bottom: float, speak: Speak) -> list[Shape]:
    x = _at((cups + 1) / 2, cups)
    place, anchor = beside(x)
    return [
        dashed(x, TOP - 5.5, x, bottom + 0.8),
        label(place, TOP - 4.2, speak(say("by chance")), anchor),
    ]


def _row(
    top: float,
    letter: str,
    mean: float,
    half: float,
    cups: int,
    names: Mapping[str, str],
    speak: Speak,
) -> list[Shape]:
    y, x = top + 8.2, _at(mean, cups)
    shapes: list[Shape] = []
    if half:
        left, right = (
            _at(mean - half, cups),
            _at(mean + half, cups),
        )
        shapes.append(Line(x1=left, y1=y, x2=right, y2=y, ink=Ink.BLUE, width=0.9))
        shapes += [
            Line(x1=end, y1=y - 1.4, x2=end, y2=y + 1.4, ink=Ink.BLUE, width=0.9)
            for end in (left, right)
        ]
    shapes.append(Circle(x=x, y=y, radius=1.9, stroke=None, fill=Ink.BLUE))
    words = speak(say("%(beer)s, %(place)s", beer=_name(letter, names), place=Number(mean, 1)))
    return [*shapes, *cleared(_placed(x, top + 4.2, words))]


def _placed(x: float, y: float, words: str) -> Text:
    """The words over a dot, kept within the drawing."""
    reach = 0.5 * 1.05 * len(words) * 11 * 0.3528 / 2
    if x - reach < LEFT:
        return strong(LEFT - 1.5, y, words, Anchor.START)
    if x + reach > RIGHT:
        return strong(RIGHT + 1.5, y, words, Anchor.END)
    return strong(x, y, words)


def _table(
    found: RankingFinding, names: Mapping[str, str], speak: Speak
) -> tuple[tuple[str, ...], ...]:
    assert found.test is not None  # the caller has looked
    tasted = dict(zip(found.test.drinks, found.test.tasted, strict=True))
    before: dict[str, list[Message]] = {letter: [] for letter in found.drinks}
    for first, second in map(in_turn, found.apart):
        before[first].append(quoted(second, names))
    return tuple(
        (
            _name(letter, names),
            speak(say("%(place)s", place=Number(mean, 2))),
            str(tasted[letter]),
            speak(together(before[letter])) if before[letter] else "",
        )
        for letter, mean in found.mean_places
    )
