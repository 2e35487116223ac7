"""The key holder's pages, and what is hidden from an organiser who tastes; without scripts."""

from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.duties import Duties
from panel.core.names import Role, Standing
from panel.services import (
    invite,
    open_sitting,
    plan_comparison,
    seal_comparison,
    settle_ballots,
)
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, draft, serving, sitting_draft, trays
from tests.web.conftest import with_pass
from tests.web.guest import Guest

PASSWORD = "quiet copper kettle"


def keeper(app: Flask, at: Workplace, known: Comparison) -> Guest:
    guest = Guest(app)
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.KEY_HOLDER)
    page = guest.send(guest.get(f"/in/{link}"), "/key", name="Keeper", password=PASSWORD)
    assert page.path == "/keep"
    return guest


def tasting(at: Workplace) -> Comparison:
    whole = draft(duties=Duties(organiser_tastes=True))
    known = plan_comparison.start_draft(at, ORGANISER, whole, sitting_draft())
    return seal_comparison.seal(at, ORGANISER, known.id)


def test_from_the_link_to_the_printed_key(app: Flask, at: Workplace) -> None:
    known = tasting(at)
    guest = keeper(app, at, known)
    page = guest.get(f"/keep/{known.id}")
    sheet = guest.send(page, "/sealed-key.pdf")
    assert sheet.response.mimetype == "application/pdf"
    assert "no-store" in sheet.response.headers["Cache-Control"]
    assert guest.get("/organise", follow=False).status == 403


def test_signing_in_again_leads_to_the_keys(app: Flask, at: Workplace) -> None:
    keeper(app, at, tasting(at))
    guest = Guest(app)
    page = guest.send(guest.get("/sign-in"), "/sign-in", name="Keeper", password=PASSWORD)
    assert page.path == "/keep"
    assert guest.get("/sign-in").path == "/keep"
    assert "Your keys" in guest.get("/").text


def test_who_is_not_signed_in_is_sent_to_the_door(app: Flask, at: Workplace) -> None:
    known = tasting(at)
    answer = Guest(app).get(f"/keep/{known.id}", follow=False)
    assert answer.status == 302
    assert "/sign-in" in answer.response.headers["Location"]


def test_what_is_wrong_stands_beside_the_fields(app: Flask, at: Workplace) -> None:
    known = tasting(at)
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.KEY_HOLDER)
    guest = Guest(app)
    page = guest.send(guest.get(f"/in/{link}"), "/key", name="Keeper", password="short")
    assert "You are asked to keep the key" in page.text
    assert page.form("/key").values("name") == ["Keeper"]
    assert guest.send(page, "/key", password=PASSWORD).path == "/keep"


def test_an_organiser_who_tastes_is_told_who_prints(organiser: Guest, at: Workplace) -> None:
    known = tasting(at)
    page = organiser.get(f"/organise/{known.id}/print")
    assert "printed by the pourer, from their link, or by the key holder" in page.text
    assert not [form for form in page.forms if form.action.endswith(".pdf")]
    assert any(link.endswith("ballot-cards.pdf") for link in page.links)
    sitting = known.sittings[0].id
    mats = organiser.get(f"/pourer/{known.id}/{sitting}")
    refused = organiser.send(mats, f"/pourer/{known.id}/{sitting}")
    assert refused.status == 403
    assert "You taste too" in refused.text
    assert not [code for tray in trays(at, known) for code in tray.codes() if code in refused.text]


def test_the_pourers_link_prints_the_mats(app: Flask, at: Workplace) -> None:
    known = tasting(at)
    guest = with_pass(app, at, known, Role.POURER)
    door = guest.get(f"/pourer/{known.id}/{known.sittings[0].id}")
    sheet = guest.send(door, "/pour-mats.pdf")
    assert sheet.response.mimetype == "application/pdf"


def test_one_tray_in_an_emergency_and_the_closing(app: Flask, at: Workplace) -> None:
    known = serving(at)
    guest = keeper(app, at, known)
    page = guest.get(f"/keep/{known.id}")
    assert "Close it and unseal" not in page.text
    opened = guest.send(page, "/emergency", card=card_number(2), reason="hives")
    assert trays(at, known)[1].codes()[0] in opened.text
    assert trays(at, known)[2].codes()[0] not in opened.text
    again = guest.send(page, "/emergency", card=card_number(3), reason="")
    assert "Write in a few words why" in again.text
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    closed = guest.send(guest.get(f"/keep/{known.id}"), "/close")
    assert "The key is open now" in closed.text
    after = plan_comparison.comparison(at, ORGANISER, known.id)
    assert after.standing is Standing.CLOSED


def test_the_organiser_says_that_they_taste(organiser: Guest, at: Workplace) -> None:
    page = organiser.get("/organise/new")
    assert ("organiser_tastes", "yes") in page.form("/organise").offered


def test_who_does_what_is_ticked_and_said_before_sealing(organiser: Guest, at: Workplace) -> None:
    whole = draft(duties=Duties(server_brewed=True, helper_tastes=True))
    known = plan_comparison.start_draft(at, ORGANISER, whole, sitting_draft())
    form = organiser.get(f"/organise/{known.id}/question")
    assert "Some of you have a second part" in form.text
    assert form.form("/organise").values("server_brewed") == ["yes"]
    check = organiser.get(f"/organise/{known.id}/check")
    assert "That is single blinding" in check.text
    assert "brewed one of the drinks, and may know it" in check.text
    saved = organiser.send(form, "/organise", server_brewed=None, helper_tastes=None)
    assert "That is double blinding" in saved.text
    after = plan_comparison.comparison(at, ORGANISER, known.id)
    assert after.duties == Duties()
