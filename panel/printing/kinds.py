"""The one place of printing that asks of which kind a method is: the key's answers, the tally.

A further kind is one more case in every function; mypy names each that lacks it.
"""

from itertools import combinations
from typing import assert_never

from panel.core.comparison import Comparison
from panel.core.message import Message, Speak, say
from panel.core.methods import Detection, ForcedChoice, Method, Ranking, method_named
from panel.core.methods.method import outcome_of
from panel.core.names import Outcome
from panel.core.nose_first import deciding
from panel.core.possible_answers import possible_answers
from panel.core.questions import Choice
from panel.printing.tally_of_ranks import ranks_tally
from panel.printing.tally_of_signs import signs_tally
from panel.printing.tally_words import HandTally, counts_tally


def tally_of(comparison: Comparison) -> HandTally:
    """How the cards of a comparison are counted by hand."""
    method = method_named(comparison.plan.method)
    match method:
        case ForcedChoice():
            return counts_tally(comparison, method)
        case Detection():
            return signs_tally(comparison, method)
        case Ranking():
            return ranks_tally(comparison)
        case _:
            assert_never(method)


def right_answers(comparison: Comparison, order: str) -> tuple[tuple[int, ...], ...]:
    """The picks of positions (from 1) that a forced choice judges right for a serving order."""
    plan = comparison.plan
    method = method_named(plan.method)
    if not isinstance(method, ForcedChoice):
        return ()
    asked = deciding(method, plan)
    return tuple(
        picked
        for picked in combinations(asked.positions, asked.pick)
        if method.judge(plan, order, picked) is Outcome.RIGHT
    )


def true_answer(comparison: Comparison, codes: tuple[str, ...], order: str, speak: Speak) -> str:
    """What stands at the end of a tray's line in the key: the right answer, as a card says it."""
    method = method_named(comparison.plan.method)
    match method:
        case ForcedChoice():
            picks = right_answers(comparison, order)
            return " / ".join("+".join(codes[place - 1] for place in pick) for pick in picks)
        case Detection():
            return _true_sign(comparison, method, codes, order, speak)
        case Ranking():
            return ""  # no order is a wrong one
        case _:
            assert_never(method)


def _true_sign(
    comparison: Comparison, method: Detection, codes: tuple[str, ...], order: str, speak: Speak
) -> str:
    """The option that is true; of a cup "yes" or "no" in words, of several the code of "yes"."""
    asked = deciding(method, comparison.plan)
    true = next(
        answer
        for answer in possible_answers(asked, codes)
        if outcome_of(method, comparison.plan, order, codes, answer) is Outcome.RIGHT
    )
    if isinstance(asked, Choice):
        texts = {option.value: option.text for option in asked.options}
        return speak(texts[true[0]])
    said = [word.partition(":") for word in true]
    if len(said) == 1:
        return speak(asked.yes if said[0][2] == "yes" else asked.no)
    return " / ".join(code for code, _, value in said if value == "yes")


def key_explained(method: Method) -> Message:
    """How a line of the key is read."""
    match method:
        case ForcedChoice():
            return say(
                "Each line: the tray, its codes in serving order with the letter of what is in "
                "each, and at the end the answer of a taster who %(right)s. Tick the cards that "
                "say so.",
                right=method.right,
            )
        case Detection():
            return say(
                "Each line: the tray, its codes in serving order with the letter of what is in "
                "each, and at the end the true answer. Tick the cards that say so."
            )
        case Ranking():
            return say(
                "Each line: the tray, its codes in serving order with the letter of what is in "
                "each. No order is a wrong one. Tick the cards whose places are written down."
            )
        case _:
            assert_never(method)
