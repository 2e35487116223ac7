"""Every answer that a question about cups can have, on one tray."""

from collections.abc import Iterator
from itertools import combinations, permutations, product

from panel.core.questions import (
    Answer,
    Choice,
    CupQuestion,
    OrderCups,
    PickCups,
    ScalePerCup,
    YesNoPerCup,
)


def possible_answers(question: CupQuestion, codes: tuple[str, ...]) -> Iterator[Answer]:
    """The whole answers, in their one true form; of a list to choose from, each single one.

    codes: the tray's codes in serving order.
    """
    match question:
        case PickCups():
            yield from combinations(_codes(question.positions, codes), question.pick)
        case Choice():
            yield from ((option.value,) for option in question.options)
        case YesNoPerCup():
            yield from _per_cup(_codes(question.positions, codes), ("yes", "no"))
        case ScalePerCup():
            steps = tuple(str(step) for step in range(1, question.points + 1))
            yield from _per_cup(_codes(question.positions, codes), steps)
        case OrderCups():
            yield from permutations(_codes(question.positions, codes))


def _codes(positions: tuple[int, ...], codes: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(codes[position - 1] for position in positions)


def _per_cup(codes: tuple[str, ...], words: tuple[str, ...]) -> Iterator[Answer]:
    for way in product(words, repeat=len(codes)):
        yield tuple(f"{code}:{word}" for code, word in zip(codes, way, strict=True))
