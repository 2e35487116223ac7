"""Nose first on a phone: the choice by smell stands once the next page has been seen."""

import re
from dataclasses import replace

import pytest
from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Tray
from panel.core.errors import PanelError
from panel.core.methods import method_named
from panel.core.names import Information, Role, Smell, Step
from panel.core.nose_first import NOSE, cup_questions
from panel.core.paper.payload import ref_of
from panel.services import (
    close_and_unseal,
    open_sitting,
    publish,
    settle_ballots,
    take_ballot,
)
from panel.services.sealed_key import unwrap
from panel.services.workplace import Workplace
from panel.store import ballots
from tests.builders import ORGANISER, answers, nose_first, plan_for, serving, token, trays
from tests.web.conftest import with_pass
from tests.web.guest import Guest, Page


def choice(known, tray, which: int, shift: int = 0) -> dict[str, list[str]]:
    """The field of the first (0) or second (1) choice; `shift` picks other cups."""
    asked = cup_questions(method_named(known.plan.method), known.plan)[which]
    places = asked.positions[shift : shift + asked.pick]
    return {f"answer-{asked.id}": [tray.codes()[place - 1] for place in places]}


def saved(at: Workplace, known, tray):
    with at.units.read() as session:
        return [one.answers for one in ballots.revisions(session, known.id, tray.number)]


def to_the_taste(guest: Guest, at: Workplace, known, tray) -> Page:
    """Up to the page on which one chooses after tasting."""
    page = guest.get(f"/{token(at, known, tray)}")
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    assert "Do not sip yet" in page.text
    return guest.send(page, button="on", **choice(known, tray, 0))


@pytest.mark.parametrize("method", ["triangle", "duo-trio", "tetrad", "paired-preference"])
def test_two_choices_of_every_method_without_a_script(
    guest: Guest, at: Workplace, method: str
) -> None:
    known = serving(at, plan=nose_first(method))
    tray = trays(at, known)[0]
    page = to_the_taste(guest, at, known, tray)
    assert "Now taste, and choose again" in page.text
    page = guest.send(page, button="on", **choice(known, tray, 1, shift=1))
    page = guest.send(page, button="on", **{"answer-sure": "guess"})
    assert "by smell" in page.text
    assert "after tasting" in page.text
    page = guest.send(page, button="send")
    assert page.path.endswith("/receipt")
    (answered,) = saved(at, known, tray)
    first, second = cup_questions(method_named(method), known.plan)
    assert list(answered[first.id]) == choice(known, tray, 0)[f"answer-{NOSE}"]
    assert answered[first.id] != answered[second.id]


def test_the_first_choice_is_shown_and_no_longer_asked(guest: Guest, at: Workplace) -> None:
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    page = to_the_taste(guest, at, known, tray)
    offered = {name for name, _ in page.form().offered}
    assert "answer-odd" in offered
    assert "answer-nose" not in offered
    page = guest.get(f"{page.path}?at=nose")
    assert "By smell you chose:" in page.text
    assert "That stands" in page.text
    assert {name for name, _ in page.form().offered} == offered


def test_another_first_choice_sent_by_hand_is_not_taken(guest: Guest, at: Workplace) -> None:
    """The draft's cookie is signed and has the last word."""
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    page = to_the_taste(guest, at, known, tray)
    other = choice(known, tray, 0, shift=1)
    page = guest.send(page, button="on", **other, **choice(known, tray, 1))
    page = guest.send(page, button="on", **other, **{"answer-sure": "guess"})
    guest.send(page, button="send", **other)
    (answered,) = saved(at, known, tray)
    assert list(answered[NOSE]) == choice(known, tray, 0)["answer-nose"]


def test_before_going_on_one_may_choose_otherwise(guest: Guest, at: Workplace) -> None:
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    page = guest.get(f"/{token(at, known, tray)}")
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    page = guest.send(page, button="before", **choice(known, tray, 0))  # back
    page = guest.send(page, button="on")
    page = guest.send(page, button="on", **choice(known, tray, 0, shift=1))
    assert "Now taste" in page.text
    assert choice(known, tray, 0, shift=1)["answer-nose"] == page.form().values("answer-nose")


def test_a_missing_first_choice_is_asked_for(guest: Guest, at: Workplace) -> None:
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    page = guest.get(f"/{token(at, known, tray)}")
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    page = guest.send(page, button="on")
    assert page.status == 422
    assert "Choose one cup" in page.text
    assert "answer-nose" in {name for name, _ in page.form().offered}


def test_a_ballot_that_is_in_keeps_its_first_choice(guest: Guest, at: Workplace) -> None:
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    ref = ref_of(token(at, known, tray))
    whole = answers(known, tray)
    take_ballot.take_phone(at, ref, whole, "first-form-key-0001")
    changed = {**whole, "odd": (tray.codes()[2],)}
    take_ballot.take_phone(at, ref, changed, "first-form-key-0002")
    with pytest.raises(PanelError) as refusal:
        take_ballot.take_phone(
            at, ref, {**changed, NOSE: (tray.codes()[1],)}, "first-form-key-0003"
        )
    assert refusal.value.code == "first-choice-stands"
    assert tray.codes()[0] in str(refusal.value.message)
    assert len(saved(at, known, tray)) == 2
    guest.get(f"/{token(at, known, tray)}")
    page = guest.get(f"/t/{ref}/change")
    assert "answer-nose" not in {name for name, _ in page.form().offered}


def test_paper_may_correct_both_choices(at: Workplace) -> None:
    known = serving(at, plan=nose_first())
    tray = trays(at, known)[0]
    card = take_ballot.taster_view(at, ref_of(token(at, known, tray))).card
    whole = answers(known, tray)
    take_ballot.take_keyed(at, ORGANISER, known.id, card, whole, "keyed-form-key-01")
    other = {**whole, NOSE: (tray.codes()[1],)}
    take_ballot.take_keyed(at, ORGANISER, known.id, card, other, "keyed-form-key-02")
    assert saved(at, known, tray)[-1][NOSE] == (tray.codes()[1],)


@pytest.mark.parametrize("step", Step)
def test_ones_own_answer_says_what_was_chosen_when(guest: Guest, at: Workplace, step: Step) -> None:
    known = serving(at, plan=nose_first(deciding_step=step))
    tray = trays(at, known)[0]
    ref = ref_of(token(at, known, tray))
    whole = {**answers(known, tray), "odd": (tray.codes()[1],)}
    take_ballot.take_phone(at, ref, whole, "first-form-key-0001")
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    publish.publish(at, ORGANISER, known.id)
    page = guest.get(f"/{token(at, known, tray)}")
    by_smell, after = tray.codes()[0], tray.codes()[1]
    assert page.text.index(by_smell) < page.text.index("by smell")
    assert "after tasting" in page.text
    other = "After tasting you were" if step is Step.NOSE else "By smell alone you were"
    assert other in page.text
    assert after in page.text


def test_smell_only_speaks_of_nothing_that_is_drunk(guest: Guest, at: Workplace) -> None:
    known = serving(at, plan=replace(plan_for("duo-trio"), smell=Smell.ONLY))
    tray = trays(at, known)[0]
    page = guest.get(f"/{token(at, known, tray)}")
    assert "Nothing is drunk." in page.text
    assert "Do not drive" not in page.text
    assert "By smell alone" in page.text
    for word in ("Taste", "taste", "Rinse", "sip", "spit"):
        assert word not in page.text
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    page = guest.send(page, button="on", **choice(known, tray, 0))
    page = guest.send(page, button="on", **{"answer-sure": "guess"})
    assert "stands" not in page.text
    page = guest.send(page, button="send")
    assert page.path.endswith("/receipt")


def test_told_words_stand_before_the_first_sniff(guest: Guest, at: Workplace) -> None:
    known = serving(at, plan=nose_first(), information=Information.INFORMED, told="One was warmer.")
    page = guest.get(f"/{token(at, known, trays(at, known)[0])}")
    assert "Smell, knowing this" in page.text
    assert page.text.index("One was warmer.") < page.text.index("Now taste, and choose again")


def test_no_page_differs_with_what_is_in_the_cups(app: Flask, at: Workplace) -> None:
    """Codes, numbers and the forms' own keys masked, the pages of all serving orders are one."""
    known = serving(at, plan=nose_first())
    with at.units.read() as session:
        orders = unwrap(session, at, known.id).key
    seen: set[tuple[str, ...]] = set()
    served = trays(at, known)[:6]
    assert len({orders[tray.number] for tray in served}) == 6
    for tray in served:
        guest = Guest(app)
        page = to_the_taste(guest, at, known, tray)
        pages = [page.html, guest.get(f"{page.path}?at=nose").html]
        page = guest.send(page, button="on", **choice(known, tray, 1))
        seen.add(tuple(masked(html, tray) for html in (*pages, page.html)))
    assert len(seen) == 1


def masked(html: str, tray: Tray) -> str:
    for place, code in enumerate(tray.codes(), start=1):
        html = html.replace(code, f"<{place}>")
    html = re.sub(r"/t/[0-9a-f]{16}|data-ballot=\"[0-9a-f]{16}\"", "REF", html)
    html = re.sub(r"name=\"(csrf_token|key)\" value=\"[^\"]*\"", "KEY", html)
    return html.replace(card_number(tray.number), "CARD")


def test_keyed_from_paper_both_rows_are_named(app: Flask, at: Workplace) -> None:
    known = serving(at, plan=nose_first())
    steward = with_pass(app, at, known, Role.STEWARD)
    page = steward.get(f"/steward/{known.id}/{known.sittings[0].id}/key")
    assert page.status == 200
    assert page.text.index("By smell: Which cup") < page.text.index("After tasting: Which cup")
    assert page.text.index("After tasting: Which cup") < page.text.index("What else is marked")
