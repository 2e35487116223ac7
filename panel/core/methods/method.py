"""The kinds of method: a small closed set, each with an analysis and a finding of its own.

A further method is one file with a METHOD, one line in the dict, one page in docs/methods; the
contract test over all methods demands the rest. A further kind is a class here and one more case
wherever `match` asks for the kind: mypy names every such place (docs/architecture.md).
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from panel.core.message import Message
from panel.core.methods.base import MethodBase
from panel.core.names import Outcome
from panel.core.plan import Plan
from panel.core.questions import Answer, Choice, OrderCups, PickCups, YesNoPerCup
from panel.core.statistics.links import Link


@dataclass(frozen=True, kw_only=True)
class ForcedChoice(MethodBase):
    """One choice among cups, right or wrong: right ones are counted against guessing.

    `decides(plan)` is the deciding question. `judge(plan, order, picked)` judges the positions
    picked (counted from 1). `chance` is the probability of RIGHT by guessing, `link` names its
    psychometric function in core.statistics.dprime.
    """

    chance: Fraction
    link: Link
    decides: Callable[[Plan], PickCups]
    judge: Callable[[Plan, str, tuple[int, ...]], Outcome]


@dataclass(frozen=True)
class Sign:
    """One answer to one thing on a tray (a cup, a pair): whether that was the target, and whether
    the taster said so. Target and said: a hit. Said alone: a false alarm."""

    target: bool
    said: bool


@dataclass(frozen=True, kw_only=True)
class Detection(MethodBase):
    """An answer that is true of some things served and not of others: hits and false alarms.

    `signs(plan, order, said)` reads the deciding answer with places in it (`said_by_place`);
    () where it was not given. `line` names the rule that links hits and false alarms to d-prime
    in core.statistics.lines. `paired`: each taster answers of a target and of another. `targets`,
    `others`: what both are called; `called`: the answer that is true of targets, as it is quoted.
    """

    line: Literal["yes-no", "same-different"]
    paired: bool
    targets: Message
    others: Message
    called: Message
    decides: Callable[[Plan], YesNoPerCup | Choice]
    signs: Callable[[Plan, str, Answer], tuple[Sign, ...]]


@dataclass(frozen=True, kw_only=True)
class Ranking(MethodBase):
    """All cups of a tray put in order: places are compared between beers, and nobody is wrong.

    A plan has from `beers` to `most_beers` beers, each at most once on a tray.
    """

    decides: Callable[[Plan], OrderCups]


Method = ForcedChoice | Detection | Ranking


def outcome_of(
    method: Method, plan: Plan, order: str, codes: tuple[str, ...], answer: Answer
) -> Outcome:
    """Whether one taster's deciding answer is right: of several things, all of them."""
    match method:
        case ForcedChoice():
            return method.judge(plan, order, picked_positions(codes, answer))
        case Detection():
            signs = method.signs(plan, order, said_by_place(codes, answer))
            if not signs:
                return Outcome.NO_CHOICE
            right = all(sign.target is sign.said for sign in signs)
            return Outcome.RIGHT if right else Outcome.WRONG
        case Ranking():
            return Outcome.PLACED if answer else Outcome.NO_CHOICE


def said_by_place(codes: tuple[str, ...], answer: Answer) -> Answer:
    """An answer with places on the tray (from 1) instead of codes: "482:yes" is "2:yes"."""
    places = {code: str(place) for place, code in enumerate(codes, start=1)}
    parted = (word.partition(":") for word in answer)
    return tuple(places.get(code, code) + colon + rest for code, colon, rest in parted)


def picked_positions(codes: tuple[str, ...], answer: Answer) -> tuple[int, ...]:
    """The positions (from 1) of the codes in an answer; () for a declared "no preference".

    codes: the tray's codes in serving order. Codes not on the tray are a KeyError's worth of
    programming error here: ballots are checked at the door (core.ballot).
    """
    place = {code: index for index, code in enumerate(codes, start=1)}
    return tuple(sorted(place[word] for word in answer if word in place))


def picks_letter(letter: str) -> Callable[[str, tuple[int, ...]], Outcome]:
    """A judge for methods in which RIGHT means: all picked cups hold that beer."""

    def judge(order: str, picked: tuple[int, ...]) -> Outcome:
        if not picked:
            return Outcome.NO_CHOICE
        right = all(order[position - 1] == letter for position in picked)
        return Outcome.RIGHT if right else Outcome.WRONG

    return judge
