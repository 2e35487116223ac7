"""What a run has drawn of each axis, and what it should have: so that no value is forgotten."""

from collections.abc import Iterator

from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.card_parts import PlaceKind
from panel.core.questions import Words
from panel.scanning.reading import CardKnown
from tests.scanning.corpus.axes import AXES, stretches
from tests.scanning.corpus.ballots import Filled, Thought, able
from tests.scanning.corpus.cards import CASES, Case
from tests.scanning.corpus.damage import Damage
from tests.scanning.corpus.hands import PENS, Hand

AxisValue = tuple[str, str]


def drawn_values(known: CardKnown, filled: Filled, how: Damage, case: Case) -> Iterator[AxisValue]:
    """What a picture adds to the table: an axis and a value, once for each place, pen, question."""
    yield "card", case.format
    yield "ballot", case.name.partition(" on ")[0]
    for question in known.questions:
        if question.id in filled.thoughts:
            yield "question", type(question).__name__
            yield "thought", filled.thoughts[question.id]
    for index, place in enumerate(known.layout.places):
        hand, pen = filled.hands.get(index, (None, None))
        yield f"{place.kind} with", hand or "nothing"
        if hand is not None and pen is not None:
            yield "pen", pen.name
    for name, stretch in stretches(how):
        yield f"damage: {name}", stretch


def every_value() -> Iterator[AxisValue]:
    """All that has to be drawn."""
    yield from (("card", format) for format in CARD_FORMATS)
    for case in CASES.values():
        yield "ballot", case.name.partition(" on ")[0]
        for question in case.questions:
            if not isinstance(question, Words):
                yield "question", type(question).__name__
    yield from (("thought", thought) for thought in Thought)
    yield from (("pen", pen.name) for pen in PENS)
    for kind in PlaceKind:
        yield f"{kind} with", "nothing"
        yield from ((f"{kind} with", hand) for hand in Hand if able(hand, kind))
    for name, axis in AXES.items():
        yield from ((f"damage: {name}", axis.name_of(one)) for one in range(axis.count))
