"""What a method is: frozen values and four small pure functions.

A further method is one file with a METHOD, one line in the dict, one page in docs/methods; the
contract test over all methods demands the rest.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from panel.core.message import Message
from panel.core.names import Aim, Outcome
from panel.core.plan import Plan
from panel.core.questions import Answer, PickCups, Question
from panel.core.statistics.links import Link


@dataclass(frozen=True, kw_only=True)
class Method:
    """A test, as data.

    `orders(plan)` is the complete set of serving orders, each a string of beer letters by
    position. `decides(plan)` is the deciding question. `judge(plan, order, picked)` judges the
    positions picked (counted from 1). `follows(plan)` are questions of its own after it. `chance`
    is the probability of RIGHT by guessing, `link` names its psychometric function in
    core.statistics.dprime, `references` are positions shown as known, not asked about.
    """

    id: str
    name: Message
    in_a_sentence: Message
    instruction: Message
    when_to_use: Message
    beers: int
    cups: int
    chance: Fraction
    link: Link
    aims: tuple[Aim, ...]
    sides: tuple[int, ...] = (1,)
    directional: bool = False
    references: tuple[int, ...] = ()
    right: Message
    orders: Callable[[Plan], tuple[str, ...]]
    decides: Callable[[Plan], PickCups]
    smelled: Message | None = None
    judge: Callable[[Plan, str, tuple[int, ...]], Outcome]
    follows: Callable[[Plan], tuple[Question, ...]] = lambda _plan: ()


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
