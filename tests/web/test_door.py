"""Set-up, signing in and out, and the links of those who serve."""

import pytest
from flask import Flask

from panel.core.names import Role
from panel.services import invite, sign_in
from panel.services.workplace import Workplace
from panel.web import cookies
from tests.builders import ORGANISER, Clock, serving
from tests.web.conftest import PASSWORD, with_pass
from tests.web.guest import Guest


def test_the_first_organiser_sets_it_up_and_is_signed_in(guest: Guest, at: Workplace) -> None:
    link = sign_in.first_link(at)
    page = guest.get(f"/set-up/{link}")
    assert page.status == 200
    page = guest.send(page, "set-up", name="Robin", password=PASSWORD, password_again=PASSWORD)
    assert page.path == "/organise"
    assert guest.get("/organise").status == 200
    assert sign_in.first_link(at) is None


@pytest.mark.parametrize(
    ("name", "password", "again", "words"),
    [
        ("Robin", "short", "short", "at least 8 characters"),
        ("", PASSWORD, PASSWORD, "Write the name"),
        ("Robin", PASSWORD, "heron lantern gravel fork", "not the same"),
        ("Robin", "password1", "password1", "first passwords that anybody would try"),
    ],
)
def test_set_up_refuses_in_words_and_keeps_the_name(
    guest: Guest, at: Workplace, name: str, password: str, again: str, words: str
) -> None:
    page = guest.get(f"/set-up/{sign_in.first_link(at)}")
    page = guest.send(page, "set-up", name=name, password=password, password_again=again)
    assert page.status == 422
    assert words in page.text
    assert page.form("set-up").values("name") == [name]
    assert page.form("set-up").values("password") == [""]
    assert password not in page.html or not password


def test_a_set_up_link_works_once(guest: Guest, app: Flask, at: Workplace) -> None:
    page = guest.get(f"/set-up/{sign_in.first_link(at)}")
    filled = {"name": "Robin", "password": PASSWORD, "password_again": PASSWORD}
    guest.send(page, "set-up", **filled)
    page = Guest(app).get(page.path)
    second = Guest(app)
    answer = second.send(second.get(page.path), "set-up", **(filled | {"name": "Mallory"}))
    assert answer.status == 404
    assert "does not work any more" in answer.text


def test_signing_in_leads_to_the_page_that_was_asked_for(app: Flask, organiser: Guest) -> None:
    guest = Guest(app)
    page = guest.get("/organise")
    assert page.path == "/sign-in"
    page = guest.send(page, "sign-in", name="Robin", password=PASSWORD)
    assert page.path == "/organise"
    assert guest.get("/sign-in").path == "/organise"


def test_a_new_sign_in_has_a_new_token(app: Flask, organiser: Guest) -> None:
    tokens = set()
    for _ in range(2):
        guest = Guest(app)
        guest.send(guest.get("/sign-in"), "sign-in", name="Robin", password=PASSWORD)
        kept = guest.client.get_cookie(cookies.SIGN_IN)
        assert kept is not None
        tokens.add(kept.value)
    assert len(tokens) == 2


def test_a_wrong_password_keeps_the_name_and_says_no_more(app: Flask, organiser: Guest) -> None:
    guest = Guest(app)
    wrong = guest.send(guest.get("/sign-in"), "sign-in", name="Robin", password="not this one")
    nobody = guest.send(guest.get("/sign-in"), "sign-in", name="Nobody", password="not this one")
    assert wrong.status == nobody.status == 403
    assert wrong.form("sign-in").values("name") == ["Robin"]
    assert wrong.form("sign-in").values("password") == [""]
    assert wrong.text.replace("Robin", "") == nobody.text.replace("Nobody", "")


def test_an_onward_address_of_another_site_is_dropped(app: Flask, organiser: Guest) -> None:
    guest = Guest(app)
    page = guest.get("/sign-in?onward=//evil.example/x")
    answer = guest.send(page, "sign-in", follow=False, name="Robin", password=PASSWORD)
    assert answer.response.headers["Location"] == "/"


# --- links of those who serve --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("role", "start"), [(Role.STEWARD, "/steward/"), (Role.POURER, "/pourer/")]
)
def test_a_link_opens_the_page_of_its_role(
    app: Flask, at: Workplace, role: Role, start: str
) -> None:
    known = serving(at)
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, role)
    guest = Guest(app)
    page = guest.send(guest.get(f"/in/{link}"), "/in/")
    assert page.path == f"{start}{known.id}/{known.sittings[0].id}"
    assert link not in page.html


def test_a_link_is_spent_by_its_button_not_by_a_look(app: Flask, at: Workplace) -> None:
    known = serving(at)
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.STEWARD)
    for _ in range(3):
        assert Guest(app).get(f"/in/{link}").status == 200
    guest = Guest(app)
    assert guest.send(guest.get(f"/in/{link}"), "/in/").status == 200
    second = Guest(app)
    answer = second.send(second.get(f"/in/{link}"), "/in/")
    assert answer.status == 404
    assert "Ask the organiser for a new one" in answer.text


def test_a_pass_lasts_its_evening_without_being_used(
    app: Flask, at: Workplace, clock: Clock
) -> None:
    known = serving(at)
    holder = with_pass(app, at, known, Role.STEWARD)
    path = f"/steward/{known.id}/{known.sittings[0].id}"
    clock.forward(hours=5)
    assert holder.get(path).status == 200
    clock.forward(hours=12)
    assert holder.get(path).status == 403


# --- another password ----------------------------------------------------------------------------

NEW = "six tall wooden barrels"


def test_another_password_needs_the_old_one_and_ends_the_other_sign_ins(
    app: Flask, organiser: Guest
) -> None:
    """OWASP ASVS 5.0.0, 6.2.2, 6.2.3 and 7.4.3."""
    elsewhere = Guest(app)
    elsewhere.send(elsewhere.get("/sign-in"), "sign-in", name="Robin", password=PASSWORD)
    assert elsewhere.get("/organise", follow=False).status == 200
    assert "/password" in organiser.get("/").links
    page = organiser.get("/password")
    for now, new, again, why in (
        ("heron lantern", NEW, NEW, "is not this one"),
        (PASSWORD, NEW, NEW + "!", "are not the same"),
        (PASSWORD, "password1", "password1", "one of the first passwords"),
    ):
        answer = organiser.send(
            page, "/password", password_now=now, password=new, password_again=again
        )
        assert answer.status in (403, 422)
        assert why in answer.text
        assert now not in answer.html
        assert new not in answer.html
    answer = organiser.send(
        page, "/password", password_now=PASSWORD, password=NEW, password_again=NEW
    )
    assert "Your new password holds from now on" in answer.text
    assert organiser.get("/organise", follow=False).status == 200
    assert elsewhere.get("/organise", follow=False).status == 302
    back = Guest(app)
    answer = back.send(back.get("/sign-in"), "sign-in", name="Robin", password=PASSWORD)
    assert answer.status == 403
    answer = back.send(back.get("/sign-in"), "sign-in", name="Robin", password=NEW)
    assert answer.status == 200


def test_nobody_else_changes_a_password(app: Flask, guest: Guest) -> None:
    assert guest.get("/password", follow=False).response.headers["Location"].startswith("/sign-in")
    fields = guest.get("/card").form("card").fields
    answer = guest.post("/password", [*fields, ("password", NEW), ("password_again", NEW)])
    assert answer.status == 403


def test_signing_in_again_ends_the_sign_in_before(app: Flask, organiser: Guest) -> None:
    """OWASP ASVS 5.0.0, 7.2.4."""
    before = organiser.client.get_cookie(cookies.SIGN_IN)
    assert before is not None
    fields = [*organiser.get("/card").form("card").fields, ("name", "Robin")]
    organiser.post("/sign-in", [*fields, ("password", PASSWORD)])
    thief = Guest(app)
    thief.client.set_cookie(cookies.SIGN_IN, before.value)
    assert thief.get("/organise", follow=False).status == 302
    assert organiser.get("/organise", follow=False).status == 200
