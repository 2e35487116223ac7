"""One form for every shape of question: what is shown, what comes back, what is read over."""

from collections.abc import Iterator

import pytest
from flask import Flask, render_template_string
from werkzeug.datastructures import MultiDict

from panel.core.ballot import check_answers
from panel.core.errors import RefusalsError
from panel.core.message import Message, say
from panel.core.names import Channel
from panel.core.questions import (
    Answer,
    Choice,
    Option,
    OrderCups,
    PickCups,
    Question,
    ScalePerCup,
    Words,
    YesNoPerCup,
)
from panel.web.answers import answers_in, fields_of, in_words, keyed_answers, unanswered
from panel.web.forms import Typed
from tests.web.guest import Form, Page

CODES = ("482", "719", "253")
ALL = (1, 2, 3)
LISTED = (Option(value="a", text=say("aroma")), Option(value="n", text=say("nothing")))


def asked(kind: str) -> Question:
    """A question of each shape."""
    named = {"text": say("What?"), "short": say("What")}
    shapes: dict[str, Question] = {
        "pick 1": PickCups(id="q", pick=1, positions=ALL, no_choice=say("No preference"), **named),
        "pick 2": PickCups(id="q", pick=2, positions=ALL, **named),
        "pick of two": PickCups(id="q", pick=1, positions=(2, 3), **named),
        "yes or no": YesNoPerCup(id="q", positions=ALL, yes=say("yes"), no=say("no"), **named),
        "scale": ScalePerCup(
            id="q", positions=ALL, points=9, low=say("dislike"), high=say("like"), **named
        ),
        "order": OrderCups(id="q", positions=ALL, first=say("most"), last=say("least"), **named),
        "choice": Choice(id="q", options=LISTED, **named),
        "several": Choice(id="q", options=LISTED, several=True, alone="n", **named),
        "words": Words(id="q", **named),
    }
    return shapes[kind]


WHOLE: dict[str, Answer] = {
    "pick 1": ("719",),
    "pick 2": ("482", "253"),
    "pick of two": ("253",),
    "yes or no": ("482:yes", "719:no", "253:yes"),
    "scale": ("482:9", "719:1", "253:5"),
    "order": ("253", "482", "719"),
    "choice": ("a",),
    "several": ("a",),
    "words": ("crisp <b>& dry",),
}

PAGE = """{% from "questions.html" import ask with context %}
<form action="/x">{{ ask(question, codes, typed, references) }}</form>"""
KEYED = """{% from "keyed.html" import key_in with context %}
<form action="/x">{{ key_in(question, typed, true) }}</form>"""


@pytest.fixture
def page(app: Flask) -> Iterator[None]:
    with app.test_request_context():
        yield


def shown(source: str, question: Question, typed: Typed) -> Form:
    html = render_template_string(
        source, question=question, codes=CODES, typed=typed, references=(1,)
    )
    reader = Page.__new__(Page)
    reader.read(html)
    return reader.form("/x")


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize("kind", WHOLE)
def test_nothing_is_chosen_beforehand(kind: str) -> None:
    form = shown(PAGE, asked(kind), Typed())
    assert [value for _, value in form.fields if value] == []


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize("kind", WHOLE)
def test_what_was_answered_comes_back_as_it_was(kind: str) -> None:
    question, answer = asked(kind), WHOLE[kind]
    typed = Typed(fields_of({"q": answer}, (question,)))
    form = shown(PAGE, question, typed)
    again = answers_in(MultiDict(form.fields))["q"]
    accepted = check_answers((question,), CODES, {"q": again}, "q", Channel.PHONE)
    assert accepted["q"] == answer


@pytest.mark.usefixtures("page")
def test_a_reference_is_shown_and_cannot_be_chosen() -> None:
    form = shown(PAGE, asked("pick of two"), Typed())
    assert {value for _, value in form.offered} == {"719", "253"}


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize("kind", WHOLE)
def test_the_keyed_form_gives_what_the_core_takes(kind: str) -> None:
    question, answer = asked(kind), WHOLE[kind]
    fields = fields_of({"q": answer}, (question,))
    if kind in ("yes or no", "scale"):
        fields = {
            "code-q": [word.partition(":")[0] for word in answer],
            "value-q": [word.partition(":")[2] for word in answer],
        }
    form = shown(KEYED, question, Typed(fields))
    given = keyed_answers(MultiDict(form.fields), (question,))
    accepted = check_answers((question,), CODES, given, "q", Channel.KEYED)
    assert accepted["q"] == answer


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("pick 1", ["719"]),
        ("pick 2", ["482", "253"]),
        ("yes or no", ["482: yes", "719: no", "253: yes"]),
        ("scale", ["482: 9", "719: 1", "253: 5"]),
        ("order", ["253 > 482 > 719"]),
        ("several", ["aroma"]),
        ("words", ["crisp <b>& dry"]),
    ],
)
def test_an_answer_is_read_over_in_words(kind: str, words: list[str]) -> None:
    assert [str(part) for part in in_words(asked(kind), WHOLE[kind])] == words


def test_a_declared_lack_of_preference_is_read_over_in_its_words() -> None:
    (part,) = in_words(asked("pick 1"), ("none",))
    assert part == say("No preference")


@pytest.mark.parametrize("kind", WHOLE)
def test_each_question_that_must_be_answered_has_its_sentence(kind: str) -> None:
    question = asked(kind)
    sentences = unanswered((question,), CODES)
    assert isinstance(sentences["q"], Message)
    with pytest.raises(RefusalsError) as refusal:
        check_answers((question,), CODES, {}, "q", Channel.PHONE)
    assert refusal.value.message == sentences["q"]


def test_fields_of_nobody_are_handed_on_and_refused() -> None:
    given = answers_in(MultiDict([("answer-beer", "A"), ("csrf_token", "x"), ("step", "cups")]))
    assert given == {"beer": ("A",)}
    with pytest.raises(RefusalsError) as refusal:
        check_answers((asked("words"),), CODES, given, "q", Channel.KEYED)
    assert "no question “beer”" in str(refusal.value.refusals[-1].message)
