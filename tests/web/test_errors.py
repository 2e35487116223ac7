"""Refusals become pages once, in words, and nothing that was typed is lost on the way."""

import pytest
from flask import Flask

from panel.core.errors import Fault, PanelError, RefusalsError
from panel.core.message import say
from panel.services import take_ballot
from panel.services.workplace import Workplace
from panel.web.errors import STATUS, TITLES
from panel.web.forms import FRESH, Typed
from tests.builders import Clock, serving, token, trays
from tests.web.conftest import PASSWORD
from tests.web.guest import Guest, Page


def away(*_given: object, **_named: object) -> None:
    raise PanelError("database-away", say("The database cannot be reached."), Fault.PLACE)


def over(guest: Guest, at: Workplace) -> Page:
    """A ballot that is filled in up to the read-over."""
    known = serving(at)
    tray = trays(at, known)[0]
    page = guest.get(f"/{token(at, known, tray)}")
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    page = guest.send(page, button="on", **{"answer-odd": tray.codes()[0]})
    return guest.send(page, button="on", **{"answer-words": "kept <b>"})


def test_every_fault_has_a_status_and_a_title() -> None:
    assert set(STATUS) == set(TITLES) == set(Fault)


@pytest.mark.parametrize("fault", Fault)
def test_a_fault_becomes_its_status(
    app: Flask, monkeypatch: pytest.MonkeyPatch, fault: Fault
) -> None:
    def refuses(*_given: object) -> None:
        raise PanelError("x", say("So it is: %(n)s.", n=3), fault)

    monkeypatch.setattr("panel.services.publish.published", refuses)
    page = Guest(app).get("/")
    assert page.status == STATUS[fault]
    assert "So it is: 3." in page.text


def test_a_ballot_is_kept_while_the_database_is_away(
    guest: Guest, at: Workplace, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = over(guest, at)
    with monkeypatch.context() as broken:
        broken.setattr(take_ballot, "take_phone", away)
        answer = guest.send(page, button="send")
        assert answer.status == 503
        assert answer.form().values("answer-words") == ["kept <b>"]
    assert guest.send(answer, button="send").path.endswith("/receipt")


def test_even_where_the_form_cannot_be_shown_it_can_be_sent_again(
    guest: Guest, at: Workplace, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = over(guest, at)
    with monkeypatch.context() as broken:
        broken.setattr(take_ballot, "take_phone", away)
        broken.setattr(take_ballot, "taster_view", away)
        answer = guest.send(page, button="send")
        assert answer.status == 503
        assert "What you typed is still in this page" in answer.text
        assert "kept <b>" not in answer.html
    assert guest.send(answer, "/send").path.endswith("/receipt")


def test_no_password_is_carried_in_a_page(app: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("panel.services.sign_in.sign_in", away)
    guest = Guest(app)
    page = guest.send(guest.get("/sign-in"), "sign-in", name="Robin", password="heron lantern")
    assert page.status == 503
    assert "heron" not in page.html
    assert page.form("sign-in").values("name") == ["Robin"]


def test_what_an_organiser_typed_waits_while_they_sign_in_again(
    organiser: Guest, at: Workplace, clock: Clock
) -> None:
    page = organiser.get("/organise/new")
    clock.forward(hours=2)
    answer = organiser.send(page, "/organise/new", title="Does a warm cellar show?")
    assert answer.status == 403
    assert "sign in on a page of its own" in answer.text
    assert answer.form("/organise/new").values("title") == ["Does a warm cellar show?"]
    door = organiser.get("/sign-in")
    organiser.send(door, "sign-in", name="Robin", password=PASSWORD)
    again = organiser.send(answer, "/organise/new")
    assert again.status in (200, 422)
    assert "Does a warm cellar show?" in again.html


@pytest.mark.parametrize(("path", "method"), [("/sign-out", "GET"), ("/reach", "POST")])
def test_the_wrong_way_in_is_told(guest: Guest, path: str, method: str) -> None:
    page = guest.get(path) if method == "GET" else guest.post(path, [])
    assert page.status == 405
    assert "Allow" in page.response.headers


# --- what a form knows of itself -----------------------------------------------------------------

WRONG = RefusalsError(
    (
        PanelError("a", say("Write it."), field="title"),
        PanelError("b", say("Write it shorter."), field="title"),
        PanelError("c", say("Not now.")),
    )
)


def test_what_was_typed_wins_over_what_is_known() -> None:
    back = Typed({"title": ["typed"], "colour": ["a", "b"]}, WRONG.refusals)
    assert back.value("title", "known") == "typed"
    assert back.value("gone", "known") == ""
    assert back.values("colour", ["c"]) == ["a", "b"]
    assert back.ticked("agreed", True) is False
    assert [str(one) for one in back.errors("title")] == ["Write it.", "Write it shorter."]
    assert [str(one) for one in back.elsewhere] == ["Not now."]
    assert back.sent


def test_a_fresh_form_shows_what_is_known() -> None:
    assert FRESH.value("title", "known") == "known"
    assert FRESH.value("title", None) == ""
    assert FRESH.value("number", 0) == "0"
    assert FRESH.values("colour", ("c",)) == ["c"]
    assert FRESH.ticked("agreed", True) is True
    assert not FRESH.sent
