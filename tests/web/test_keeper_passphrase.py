"""A passphrase on the key, as the key holder puts it on, types it and forgets it; no scripts."""

import re

import pytest
from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.names import Role, Standing
from panel.services import lock_key, open_sitting, plan_comparison, settle_ballots
from panel.services.workplace import Workplace
from panel.store import key_lock
from tests.builders import ORGANISER, serving, trays
from tests.services.test_recover_key import envelope
from tests.web.conftest import with_pass
from tests.web.guest import Guest, Page
from tests.web.test_keeper import keeper

WORDS = "four baskets by the harbour"
OTHER = "five baskets by the harbour"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its cost is tests/store/test_key_lock.py's to see."""
    monkeypatch.setattr(key_lock, "COST", 2**10)


def page_of(guest: Guest, known: Comparison) -> Page:
    return guest.get(f"/keep/{known.id}")


def twice(words: str, again: str) -> dict[str, str]:
    return {"passphrase": words, "passphrase-again": again}


def locked(app: Flask, at: Workplace, known: Comparison) -> Guest:
    guest = keeper(app, at, known)
    guest.send(page_of(guest, known), "/sealed-key.pdf")
    page = guest.send(page_of(guest, known), "/lock", **twice(WORDS, WORDS))
    assert "Your passphrase is on the key" in page.text
    return guest


def test_the_envelope_is_asked_for_before_the_lock(app: Flask, at: Workplace) -> None:
    known = serving(at)
    guest = keeper(app, at, known)
    page = page_of(guest, known)
    assert "It has not been printed yet" in page.text
    refused = guest.send(page, "/lock", **twice(WORDS, WORDS))
    assert refused.status == 409
    assert "Print the sealed key first and put it into its envelope" in refused.text
    guest.send(page, "/sealed-key.pdf")
    assert "It has been printed" in page_of(guest, known).text


@pytest.mark.parametrize(
    ("words", "again", "said"),
    [
        ("short words", "short words", "needs at least 15 characters"),
        (WORDS, OTHER, "something else was typed"),
    ],
)
def test_what_is_wrong_with_it_stands_beside_it_and_comes_back_empty(
    app: Flask, at: Workplace, words: str, again: str, said: str
) -> None:
    known = serving(at)
    guest = keeper(app, at, known)
    guest.send(page_of(guest, known), "/sealed-key.pdf")
    refused = guest.send(page_of(guest, known), "/lock", **twice(words, again))
    assert said in refused.text
    assert words not in refused.html
    assert not lock_key.locked(at, ORGANISER, known.id)


def test_every_button_that_shows_the_key_has_its_field(app: Flask, at: Workplace) -> None:
    known = serving(at)
    guest = locked(app, at, known)
    page = page_of(guest, known)
    sitting = known.sittings[0].id
    field = f"passphrase-{sitting}"
    sheets = [one["formaction"] for one in page.form(".pdf").buttons]
    assert any(one.endswith("/pour-mats.pdf") for one in sheets)
    for path in sheets:
        token = ("csrf_token", page.form(".pdf").values("csrf_token")[0])
        made = guest.post(path, [token, (field, WORDS)])
        assert made.response.mimetype == "application/pdf"
        refused = guest.post(path, [token, (field, OTHER)])
        assert refused.status == 403
        assert "This is not the passphrase" in refused.text
        assert f'href="#{field}"' in refused.html
        assert OTHER not in refused.html
    assert len(re.findall(r'id="passphrase[^"]*"', page.html)) == len(
        set(re.findall(r'id="passphrase[^"]*"', page.html))
    )


def test_emergency_closing_and_taking_off(app: Flask, at: Workplace) -> None:
    known = serving(at)
    guest = locked(app, at, known)
    facts = {"card": card_number(2), "reason": "hives"}
    wrong = guest.send(page_of(guest, known), "/emergency", **facts, **{"passphrase-tray": OTHER})
    assert "This is not the passphrase" in wrong.text
    assert wrong.form("/emergency").values("reason") == ["hives"]  # nothing typed is lost
    opened = guest.send(wrong, "/emergency", **facts, **{"passphrase-tray": WORDS})
    assert trays(at, known)[1].codes()[0] in opened.text
    assert trays(at, known)[2].codes()[0] not in opened.text
    off = guest.send(page_of(guest, known), "/unlock", **{"passphrase-off": WORDS})
    assert "Put a passphrase on it" in off.text
    guest.send(off, "/lock", **twice(WORDS, WORDS))
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    again = guest.send(page_of(guest, known), "/close", **{"passphrase-close": OTHER})
    assert "This is not the passphrase" in again.text
    closed = guest.send(again, "/close", **{"passphrase-close": WORDS})
    assert "The key is open now" in closed.text
    after = plan_comparison.comparison(at, ORGANISER, known.id)
    assert after.standing is Standing.CLOSED


def test_forgotten_it_comes_off_with_the_envelope(app: Flask, at: Workplace) -> None:
    known = serving(at)
    groups = envelope(at, known)
    guest = locked(app, at, known)
    path = f"/keep/{known.id}/envelope"
    assert path in page_of(guest, known).links
    wrong = guest.send(guest.get(path), "/envelope", words=groups[:-1] + "A")
    assert "Your passphrase is on the key" in page_of(guest, known).text
    assert wrong.form("/envelope").values("words")
    page = guest.send(guest.get(path), "/envelope", words=groups)
    assert "Put a passphrase on it" in page.text
    assert "Leave the envelope shut" in guest.get(path).text


def test_the_others_are_told_whom_to_ask(app: Flask, at: Workplace, organiser: Guest) -> None:
    known = serving(at)
    locked(app, at, known)
    kit = organiser.get(f"/organise/{known.id}/print")
    assert "The key holder has put a passphrase on the key" in kit.text
    assert not any(form.action.endswith(".pdf") for form in kit.forms)
    sitting = known.sittings[0].id
    screen = f"/pourer/{known.id}/{sitting}"
    pourer = with_pass(app, at, known, Role.POURER)
    for guest in (organiser, pourer):
        shut = guest.send(guest.get(screen), screen)
        assert shut.status == 409
        assert "opens on their own page alone" in shut.text
        assert not [code for tray in trays(at, known) for code in tray.codes() if code in shut.text]
    emergency = organiser.get(f"/organise/{known.id}/emergency")
    refused = organiser.send(emergency, "/emergency", card=card_number(2), reason="hives")
    assert "they open this tray on their own page" in refused.text
    assert refused.form("/emergency").values("reason") == ["hives"]
    recover = organiser.get(f"/organise/{known.id}/recover")
    assert "As long as they know it, leave the envelope shut" in recover.text
    assert recover.form("/recover")
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    evening = organiser.get(f"/organise/{known.id}")
    assert "they close the comparison on their own page" in evening.text
    assert not [form for form in evening.forms if form.action.endswith("/close")]


def test_only_so_many_are_worked_out_in_a_minute(app: Flask, at: Workplace) -> None:
    """scrypt takes 128 MiB and half a second: nobody keeps the machine busy with it."""
    known = serving(at)
    guest = keeper(app, at, known)
    page = page_of(guest, known)
    fields = [("csrf_token", page.form("/lock").values("csrf_token")[0])]
    statuses = [guest.post(f"/keep/{known.id}/lock", fields).status for _ in range(31)]
    assert statuses[-1] == 429
    assert 429 not in statuses[:30]
