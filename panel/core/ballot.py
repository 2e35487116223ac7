"""A ballot checked against its tray: accepted, or refused with a reason beside each question.

One door for every channel. A phone must answer all that is required; on paper only the deciding
question can be insisted upon, and a missing side answer is kept as missing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from panel.core.errors import PanelError, RefusalsError
from panel.core.message import Message, say, say_n
from panel.core.names import Channel
from panel.core.questions import (
    NO_CHOICE,
    Answer,
    Choice,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)


@dataclass(frozen=True, kw_only=True)
class Ballot:
    """The answers from one tray. `answers` is keyed by question id; `revision` counts from 1."""

    tray: int
    channel: Channel
    answers: Mapping[str, Answer]
    received: datetime
    revision: int = 1
    late: bool = False


def check_answers(
    questions: tuple[Question, ...],
    codes: tuple[str, ...],
    given: Mapping[str, Answer],
    deciding: str,
    channel: Channel,
) -> dict[str, Answer]:
    """The answers in their one true form, or RefusalsError with every refusal at once.

    codes: the tray's three-digit codes in serving order. deciding: id of the deciding question.
    """
    accepted: dict[str, Answer] = {}
    refusals: list[PanelError] = []
    for question in questions:
        answer = tuple(word.strip() for word in given.get(question.id, ()) if word.strip())
        must = question.required and (channel is Channel.PHONE or question.id == deciding)
        try:
            checked = _checked(question, codes, answer, must)
        except PanelError as refusal:
            refusals.append(refusal)
        else:
            if checked:
                accepted[question.id] = checked
    unknown = sorted(set(given) - {question.id for question in questions})
    if unknown:
        refusals.append(
            _refusal(
                unknown[0],
                "unknown-question",
                say(
                    "This ballot has no question “%(name)s”. Open the card's link again.",
                    name=unknown[0],
                ),
            )
        )
    if refusals:
        raise RefusalsError(tuple(refusals))
    return accepted


def _checked(question: Question, codes: tuple[str, ...], answer: Answer, must: bool) -> Answer:
    if not answer:
        if must:
            raise _refusal(question.id, "unanswered", _please_answer(question))
        return ()
    match question:
        case PickCups():
            return _pick(question, codes, answer)
        case YesNoPerCup():
            return _per_cup(question, question.positions, codes, answer, ("yes", "no"))
        case ScalePerCup():
            steps = tuple(str(step) for step in range(1, question.points + 1))
            return _per_cup(question, question.positions, codes, answer, steps)
        case OrderCups():
            return _order(question, codes, answer)
        case Choice():
            return _choice(question, answer)
        case Words():
            return _words(question, answer)


def _refusal(field: str, code: str, message: Message) -> PanelError:
    return PanelError(code, message, field=field)


def _please_answer(question: Question) -> Message:
    match question:
        case PickCups(pick=1):
            return say("Choose one cup. If you cannot tell, guess: guesses count too.")
        case PickCups(pick=pick):
            return say("Choose %(count)s cups. If you cannot tell, guess.", count=pick)
        case Choice(several=True):
            return say("Choose what is true for you; “nothing” if none of the others is.")
        case _:
            return say("Please answer this question too.")


def _on_tray(codes: tuple[str, ...], positions: tuple[int, ...]) -> list[str]:
    return [codes[position - 1] for position in positions]


def _code_refused(question: Question, code: str, allowed: list[str]) -> PanelError:
    return _refusal(
        question.id,
        "code-not-on-tray",
        say(
            "Code %(code)s is not one to choose from on this tray. It has %(codes)s. Check the "
            "card's number and the code.",
            code=code,
            codes=", ".join(allowed),
        ),
    )


def _pick(question: PickCups, codes: tuple[str, ...], answer: Answer) -> Answer:
    allowed = _on_tray(codes, question.positions)
    if NO_CHOICE in answer:
        if question.no_choice is None:
            raise _refusal(question.id, "must-choose", _please_answer(question))
        if len(answer) > 1:
            raise _refusal(
                question.id,
                "contradiction",
                say("Choose either a cup or “no preference”, not both."),
            )
        return (NO_CHOICE,)
    for code in answer:
        if code not in allowed:
            raise _code_refused(question, code, allowed)
    picked = tuple(code for code in allowed if code in answer)
    if len(picked) != question.pick:
        raise _refusal(
            question.id,
            "wrong-count",
            say_n("Choose exactly one cup.", "Choose exactly %(count)s cups.", count=question.pick),
        )
    return picked


def _per_cup(
    question: YesNoPerCup | ScalePerCup,
    positions: tuple[int, ...],
    codes: tuple[str, ...],
    answer: Answer,
    values: tuple[str, ...],
) -> Answer:
    allowed = _on_tray(codes, positions)
    given: dict[str, str] = {}
    for word in answer:
        code, _, value = word.partition(":")
        if code not in allowed:
            raise _code_refused(question, code, allowed)
        if value not in values or given.get(code, value) != value:
            raise _refusal(
                question.id, "one-each", say("Give exactly one answer for cup %(code)s.", code=code)
            )
        given[code] = value
    missing = [code for code in allowed if code not in given]
    if missing:
        raise _refusal(
            question.id,
            "cup-missing",
            say("Cup %(code)s has no answer yet. Please answer for every cup.", code=missing[0]),
        )
    return tuple(f"{code}:{given[code]}" for code in allowed)


def _order(question: OrderCups, codes: tuple[str, ...], answer: Answer) -> Answer:
    allowed = _on_tray(codes, question.positions)
    for code in answer:
        if code not in allowed:
            raise _code_refused(question, code, allowed)
    if len(answer) != len(allowed) or set(answer) != set(allowed):
        raise _refusal(
            question.id, "order-incomplete", say("Give every cup its own place, each place once.")
        )
    return answer


def _choice(question: Choice, answer: Answer) -> Answer:
    values = [option.value for option in question.options]
    for word in answer:
        if word not in values:
            raise _refusal(
                question.id, "not-in-list", say("Choose one of the answers that are offered.")
            )
    chosen = tuple(value for value in values if value in answer)
    if len(chosen) > 1 and (not question.several or question.alone in chosen):
        raise _refusal(
            question.id,
            "contradiction",
            say("“Nothing” cannot be true together with another answer.")
            if question.several
            else say("Choose only one of these answers."),
        )
    return chosen


def _words(question: Words, answer: Answer) -> Answer:
    text = " ".join(answer)
    if len(text) > question.longest:
        raise _refusal(
            question.id,
            "too-long",
            say(
                "That is %(length)s characters; at most %(longest)s fit. Shorten it a little.",
                length=len(text),
                longest=question.longest,
            ),
        )
    return (text,)
