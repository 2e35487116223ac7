"""Answers in a form: the fields that a question has, and the words that come back from them.

Fields are called "answer-odd"; where each cup has its own, "answer-rate:482". Everything under
such a name is handed to the core, which refuses what no question asked.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from werkzeug.datastructures import MultiDict

from panel.core.ballot import check_answers
from panel.core.errors import RefusalsError
from panel.core.message import Message, say
from panel.core.names import Channel
from panel.core.questions import (
    NO_CHOICE,
    Answer,
    Choice,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    When,
    Words,
    YesNoPerCup,
)

PREFIX = "answer-"


def answers_in(form: MultiDict[str, str]) -> dict[str, Answer]:
    """The answers in a form, by question id, unchecked."""
    answers: dict[str, list[str]] = {}
    for name, values in form.lists():
        if name.startswith(PREFIX):
            question = name.removeprefix(PREFIX).partition(":")[0]
            answers.setdefault(question, []).extend(values)
    return {question: tuple(words) for question, words in answers.items()}


def fields_of(
    answers: Mapping[str, Answer], questions: tuple[Question, ...]
) -> dict[str, list[str]]:
    """The form's fields that would hold these answers."""
    fields: dict[str, list[str]] = {}
    for question in questions:
        for word in answers.get(question.id, ()):
            name = PREFIX + question.id
            if isinstance(question, YesNoPerCup | ScalePerCup):
                name += ":" + word.partition(":")[0]
            fields.setdefault(name, []).append(word)
    return fields


def unanswered(questions: tuple[Question, ...], codes: tuple[str, ...]) -> dict[str, Message]:
    """What each question that must be answered says when it was not, by question id."""
    try:
        check_answers(questions, codes, {}, "", Channel.PHONE)
    except RefusalsError as refusals:
        return {one.field: one.message for one in refusals.refusals if one.field}
    return {}


@dataclass(frozen=True)
class Step:
    """One page of a ballot: what is asked at one moment of the tasting."""

    name: str
    title: Message
    when: When
    questions: tuple[Question, ...]


TITLES: dict[When, tuple[str, Message]] = {
    When.BEFORE: ("before", say("Before the first cup")),
    When.NOSE: ("nose", say("By smell alone")),
    When.CUPS: ("cups", say("Now taste")),
    When.AFTER: ("after", say("About your choice")),
}
OVER = "over"
"""The name of the last page, on which everything is read over before it is sent."""


def steps_of(questions: tuple[Question, ...]) -> tuple[Step, ...]:
    """The pages of a ballot in the order in which they are asked."""
    return tuple(
        Step(name, title, when, asked)
        for when, (name, title) in TITLES.items()
        if (asked := tuple(question for question in questions if question.when is when))
    )


def in_words(question: Question, answer: Answer) -> tuple[Message | str, ...]:
    """An answer as people read it, one part each."""
    match question:
        case PickCups():
            return tuple(_picked(question, word) for word in answer)
        case YesNoPerCup():
            said = {"yes": question.yes, "no": question.no}
            parts = (word.partition(":") for word in answer)
            return tuple(
                say("%(code)s: %(answer)s", code=code, answer=said.get(value, value))
                for code, _, value in parts
            )
        case ScalePerCup():
            return tuple(word.replace(":", ": ") for word in answer)
        case Choice():
            texts = {option.value: option.text for option in question.options}
            return tuple(texts.get(word, word) for word in answer)
        case OrderCups():
            return (" > ".join(answer),) if answer else ()
        case Words():
            return answer


def is_code(question: Question) -> bool:
    """Whether a question is answered with codes, which are shown large."""
    return isinstance(question, PickCups | OrderCups)


def _picked(question: PickCups, word: str) -> Message | str:
    return question.no_choice if word == NO_CHOICE and question.no_choice else word


def shape(question: Question) -> str:
    """The name of a question's shape, for templates."""
    return type(question).__name__


def keyed_answers(form: MultiDict[str, str], questions: tuple[Question, ...]) -> dict[str, Answer]:
    """The answers of a paper ballot. Where each cup has its own answer, code and answer are typed
    side by side and joined here."""
    answers = answers_in(form)
    for question in questions:
        if isinstance(question, YesNoPerCup | ScalePerCup):
            codes = form.getlist(f"code-{question.id}")
            values = form.getlist(f"value-{question.id}")
            pairs = zip(codes, values, strict=False)
            answers[question.id] = tuple(f"{code.strip()}:{value}" for code, value in pairs if code)
    return answers
