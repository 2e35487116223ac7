"""What is kept of a taster: said to everybody, and true."""

from flask import Flask

from panel import settings as settings_room
from panel.core.methods import METHODS
from panel.core.side_questions import ballot_questions
from panel.services import sign_in, take_ballot
from panel.services.workplace import Workplace
from panel.web.public_privacy import mark, notice
from tests.builders import answers, plan_for, serving, token, trays
from tests.web.guest import Guest


def test_the_notice_stands_where_everybody_passes(app: Flask) -> None:
    guest = Guest(app)
    for path in ("/", "/card"):
        assert "/privacy" in guest.get(path).links
    page = guest.get("/privacy")
    days = settings_room.Settings.erase_after_days
    assert f"erased {days} days after the result is published" in page.text
    assert f"This wording: {mark(notice(days))}" in page.text


def test_its_mark_changes_with_its_words() -> None:
    """So that a picture or a print of it says which words they were."""
    now = notice(90)
    assert mark(now) == mark(notice(90))
    assert len({mark(now), mark(notice(91)), mark(now[1:]), mark(now[::-1])}) == 4


def test_a_ballot_goes_through_without_a_name(app: Flask, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    guest = Guest(app)
    page = guest.get(f"/{token(at, known, tray)}")
    assert not [name for form in page.forms for name, _ in form.fields if "name" in name]
    fields = [("csrf_token", page.forms[0].values("csrf_token")[0]), ("key", "0" * 32)]
    fields += [
        (f"answer-{name}", word) for name, words in answers(known, tray).items() for word in words
    ]
    assert guest.post(f"{page.path}/send", fields).path.endswith("/receipt")
    assert take_ballot.taster_view(at, page.path.removeprefix("/t/"), len).receipt is not None
    assert sign_in.awaits_set_up(at)  # and nobody had to be anybody


def test_no_question_asks_what_is_nobodys_business() -> None:
    """Of no method: dates of birth, health, what somebody may not eat or drink."""
    words = " ".join(
        repr(question).lower()
        for name in METHODS
        for question in ballot_questions(METHODS[name], plan_for(name))
    )
    assert len(words) > 1_000
    for word in (
        "birth",
        "your age",
        "health",
        "allerg",
        "pregnan",
        "medic",
        "e-mail",
        "your name",
    ):
        assert word not in words
