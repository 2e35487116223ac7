"""The ballot on a phone without scripts: every state, nothing lost, nothing counted twice."""

import re

import pytest
from flask import Flask

from panel.core.comparison import Comparison, Tray
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.methods import METHODS, method_named
from panel.core.names import Information, Reason, SittingKind
from panel.core.paper.payload import ref_of, tray_tokens
from panel.services import (
    call_off,
    close_and_unseal,
    open_sitting,
    plan_comparison,
    publish,
    seal_comparison,
    settle_ballots,
    take_ballot,
)
from panel.services.workplace import Workplace
from panel.store import ballots
from panel.web.answers import fields_of
from tests.builders import (
    ORGANISER,
    Clock,
    answers,
    asked_on,
    draft,
    sealed,
    serving,
    sitting_draft,
    token,
    trays,
)
from tests.web.guest import Guest, Page


def opened(guest: Guest, at: Workplace, known: Comparison, tray: Tray) -> Page:
    return guest.get(f"/{token(at, known, tray)}")


def picked(known: Comparison, tray: Tray) -> dict[str, list[str]]:
    """The deciding answer's field, with the first cups that can be picked."""
    question = method_named(known.plan.method).decides(known.plan)
    return fields_of({question.id: answers(known, tray)[question.id]}, (question,))


def filled_in(guest: Guest, page: Page, known: Comparison, tray: Tray) -> Page:
    """From the first question to the read-over."""
    page = guest.send(page, button="on", **{"answer-knew": "nothing"})
    page = guest.send(page, button="on", **picked(known, tray))
    last = {"answer-sure": "guess", "answer-words": "sharper <b>&amp;"}
    asked = asked_on(known)
    given = {name: word for name, word in last.items() if name.removeprefix("answer-") in asked}
    return guest.send(page, button="on", **given)


def kept(at: Workplace, known: Comparison, tray: Tray) -> int:
    """How many revisions of a tray's ballot there are."""
    with at.units.read() as session:
        return len(ballots.revisions(session, known.id, tray.number))


@pytest.mark.parametrize("method", METHODS)
def test_a_ballot_of_every_method_without_a_script(
    guest: Guest, at: Workplace, method: str
) -> None:
    known = serving(at, method)
    tray = trays(at, known)[0]
    page = opened(guest, at, known, tray)
    assert page.status == 200
    assert "Before I sat down I knew" in page.text
    assert kept(at, known, tray) == 0
    page = filled_in(guest, page, known, tray)
    assert "Is this what you meant?" in page.text
    assert "sharper <b>&amp;" in page.text
    assert "<b>&amp;" not in page.html
    assert kept(at, known, tray) == 0
    page = guest.send(page, button="send")
    assert page.path.endswith("/receipt")
    assert "Your ballot is in" in page.text
    assert "18:30" in page.text
    assert take_ballot.taster_view(at, ref_of(token(at, known, tray))).receipt is not None
    assert kept(at, known, tray) == 1


def test_nothing_is_chosen_beforehand(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    form = opened(guest, at, known, trays(at, known)[0]).form()
    assert [name for name, value in form.fields if name.startswith("answer-") and value] == []
    assert len([name for name, _ in form.offered if name == "answer-odd"]) == 3


def test_what_one_knew_is_asked_before_the_first_cup(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    page = opened(guest, at, known, trays(at, known)[0])
    page = guest.send(page, button="on")
    assert page.status == 422
    assert "Choose what is true for you" in page.text
    assert page.html.index('data-step="before"') < page.html.index('data-step="cups" hidden')


def test_a_choice_is_forced_in_words_and_what_was_typed_stays(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    page = opened(guest, at, known, trays(at, known)[0])
    page = guest.send(page, button="on", **{"answer-knew": ["variable", "before"]})
    page = guest.send(page, button="on", **{"answer-words": "kept"})
    assert page.status == 422
    assert "If you cannot tell, guess" in page.text
    assert page.form().values("answer-knew") == ["variable", "before"]
    assert page.form().values("answer-words") == ["kept"]


def test_answers_that_contradict_each_other_are_refused(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    page = opened(guest, at, known, trays(at, known)[0])
    page = guest.send(page, button="on", **{"answer-knew": ["nothing", "variable"]})
    assert page.status == 422
    assert "cannot be true together" in page.text


def test_steps_survive_a_browser_that_goes_back(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    page = filled_in(guest, opened(guest, at, known, tray), known, tray)
    page = guest.send(page, button="before")
    assert page.form().values("answer-knew") == ["nothing"]
    again = guest.get(page.path + "?at=over")
    assert "sharper" in again.text


def test_sent_twice_it_counts_once(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    first = guest.send(over, button="send")
    second = guest.send(over, button="send")
    assert first.path == second.path
    assert first.text == second.text
    assert kept(at, known, tray) == 1


def test_it_can_be_changed_until_the_sitting_closes(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    receipt = guest.send(over, button="send")
    page = guest.get(receipt.path.replace("receipt", "change"))
    assert page.form().values("answer-odd") == [tray.codes()[0]]
    page = guest.send(page, button="send", **{"answer-odd": tray.codes()[2]})
    over = guest.get(page.path) if page.status != 200 else page
    view = take_ballot.taster_view(at, ref_of(token(at, known, tray)))
    assert view.answers["odd"] == (tray.codes()[2],)
    assert "·2" in over.text


@pytest.mark.parametrize(
    "forged",
    [
        {"answer-odd": "999"},
        {"answer-odd": ["", ""]},
        {"answer-beer": "A"},
        {"answer-knew": "everything"},
        {"answer-words": "x" * 401},
    ],
)
def test_forged_and_broken_answers_write_nothing(
    guest: Guest, at: Workplace, forged: dict[str, object]
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    page = guest.send(over, button="send", **forged)
    assert page.status == 422
    assert kept(at, known, tray) == 0


def test_a_code_of_another_tray_is_refused_by_its_name(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray, other = trays(at, known)[:2]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    page = guest.send(over, button="send", **{"answer-odd": other.codes()[0]})
    assert f"Code {other.codes()[0]} is not one to choose from" in page.text


def test_a_form_without_its_key_is_sent_back_whole(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    page = guest.send(over, button="send", key=None)
    assert page.status == 422
    assert page.form().values("answer-odd") == [tray.codes()[0]]
    assert len(page.form().values("key")[0]) >= 16
    assert kept(at, known, tray) == 0


def test_an_old_page_comes_back_filled_and_goes_through_then(
    guest: Guest, at: Workplace, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    page = guest.send(over, button="send", csrf_token="old")
    assert page.status == 400
    assert "Nothing you typed is lost" in page.text
    assert page.form().values("answer-words") == ["sharper <b>&amp;"]
    assert kept(at, known, tray) == 0
    assert guest.send(page, button="send").path.endswith("/receipt")


# --- what stands in the way -----------------------------------------------------------------------


def test_before_the_sitting_opens(guest: Guest, at: Workplace) -> None:
    known = sealed(at)
    page = opened(guest, at, known, trays(at, known)[0])
    assert page.status == 200
    assert "the sitting has not opened" in page.text


def test_a_tray_that_was_set_aside(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    open_sitting.set_aside(at, ORGANISER, known.id, tray.number, Reason.MISFILLED)
    assert "Ask the steward for another tray" in opened(guest, at, known, tray).text


def test_a_set_aside_tray_refuses_a_ballot_that_was_under_way(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    open_sitting.set_aside(at, ORGANISER, known.id, tray.number, Reason.SPILLED)
    page = guest.send(over, button="send")
    assert page.status == 409
    assert "set aside" in page.text
    assert kept(at, known, tray) == 0


def closed_down(at: Workplace, known: Comparison) -> None:
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)


def test_after_closing_with_and_without_a_ballot(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    sent, silent = trays(at, known)[:2]
    take_ballot.take_phone(at, ref_of(token(at, known, sent)), answers(known, sent), "k" * 16)
    closed_down(at, known)
    assert "your ballot is in" in opened(guest, at, known, sent).text
    page = opened(guest, at, known, silent)
    assert "No ballot came from this card" in page.text


def test_a_late_ballot_is_listed_and_says_so(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    closed_down(at, known)
    page = guest.send(over, button="send")
    assert "came after closing" in page.text
    assert "not counted" in page.text


def test_a_late_ballot_can_still_be_begun(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    closed_down(at, known)
    closed = opened(guest, at, known, tray)
    page = guest.get(next(link for link in closed.links if "late" in link))
    page = filled_in(guest, page, known, tray)
    assert "came after closing" in guest.send(page, button="send").text


def test_after_publication_ones_own_answer_stands_beside_the_key(
    guest: Guest, at: Workplace
) -> None:
    known = serving(at)
    tray, silent = trays(at, known)[:2]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k" * 16)
    closed_down(at, known)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    page = opened(guest, at, known, tray)
    assert "Warm tank" not in page.html
    publish.publish(at, ORGANISER, known.id)
    page = opened(guest, at, known, tray)
    assert "Your answer, beside the key" in page.text
    assert "Warm tank" in page.text
    assert "your choice" in page.text
    assert "No ballot came from this card" in opened(guest, at, known, silent).text


def test_a_parcel_may_open_its_own_answer_once_it_is_final(guest: Guest, at: Workplace) -> None:
    known = serving(at, kind=SittingKind.PARCEL)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    receipt = guest.send(over, button="send")
    page = guest.send(receipt, "/open")
    assert "it cannot be changed any more" in page.text
    assert "drink A" in page.text
    assert "Warm tank" not in page.html
    assert guest.get(receipt.path.replace("receipt", "change")).path.endswith("/receipt")


def test_at_a_table_nobody_opens_their_answer(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    receipt = guest.send(over, button="send")
    assert not [form for form in receipt.forms if form.action.endswith("/open")]
    fields = receipt.form("/leave").fields
    page = guest.post(receipt.path.replace("receipt", "open"), fields)
    assert page.status == 403


# --- cards and phones -----------------------------------------------------------------------------


def test_the_token_leaves_the_address_and_any_case_opens_it(
    app: Flask, guest: Guest, at: Workplace
) -> None:
    known = serving(at)
    word = token(at, known, trays(at, known)[0])
    answer = guest.get(f"/{word.lower()}", follow=False)
    assert answer.status == 302
    assert answer.response.headers["Location"] == f"/t/{ref_of(word)}"
    set_cookie = answer.response.headers["Set-Cookie"]
    assert f"Path=/t/{ref_of(word)};" in set_cookie
    assert "HttpOnly" in set_cookie
    assert "SameSite=Lax" in set_cookie
    assert word not in set_cookie
    page = guest.get(f"/{word}")
    assert word not in page.html.upper()


def test_an_unknown_token_says_what_to_do(guest: Guest, at: Workplace) -> None:
    page = guest.get("/ABCDEFGHIJKLMNOP")
    assert page.status == 404
    assert "ask the steward" in page.text


def test_a_ref_without_its_card_opens_nothing(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    first, second = (token(at, known, tray) for tray in trays(at, known)[:2])
    assert guest.get(f"/t/{ref_of(first)}").status == 403
    guest.get(f"/{first}")
    assert guest.get(f"/t/{ref_of(second)}").status == 403


def test_a_borrowed_phone_forgets_the_card(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    receipt = guest.send(over, button="send")
    guest.send(receipt, "/leave")
    assert guest.get(receipt.path).status == 403


def test_the_eight_characters_open_the_same_ballot(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    code = tray_tokens(at.instance_key, known.id, tray.number, 1).short_code
    page = guest.get("/card")
    assert guest.send(page, "card", code="").status == 422
    wrong = guest.send(page, "card", code="ABCD EFGH")
    assert wrong.status == 404
    assert wrong.form("card").values("code") == ["ABCD EFGH"]
    typed = f"{code[:4]}-{code[4:]}".lower()
    page = guest.send(page, "card", code=typed)
    assert "Before I sat down I knew" in page.text


def test_informed_tasters_read_what_they_are_told_and_the_blinded_never(
    guest: Guest, at: Workplace
) -> None:
    told = "The second jug was fermented at 27 degrees."
    known = serving(at, information=Information.INFORMED, told=told)
    assert told in opened(guest, at, known, trays(at, known)[0]).text
    blinded = serving(at)
    page = opened(guest, at, blinded, trays(at, blinded)[0])
    assert told not in page.html
    for word in ("Warm tank", "Cool tank", "fermentation", "27 °C"):
        assert word not in page.html


def test_a_ballots_page_is_light_and_asks_for_two_files(guest: Guest, at: Workplace) -> None:
    """Budget: 50 KB and 3 requests (design target for poor wifi; common practice, no source)."""
    known = serving(at, "tetrad")
    page = opened(guest, at, known, trays(at, known)[0])
    files = [
        part.split('"')[1]
        for part in page.html.replace("href=", "|").replace("src=", "|").split("|")[1:]
        if part.startswith('"/static/') and "icon" not in part.split('"')[1]
    ]
    assert len(files) == 2
    weight = len(page.html.encode())
    for one in files:
        with guest.client.get(one) as answer:
            weight += len(answer.data)
    assert weight < 50_000


def test_pages_of_two_trays_have_the_same_length(guest: Guest, at: Workplace) -> None:
    """Nothing about the order of the cups shows in the size of an answer."""
    known = serving(at, planned=24)
    lengths = set()
    for tray in trays(at, known):
        if 10 <= tray.number <= 48:
            page = opened(Guest(guest.client.application), at, known, tray)
            lengths.add(len(page.html) - len(page.form().values("csrf_token")[0]))
    assert len(lengths) == 1


STEPS = ("before", "cups", "rest", "over")


@pytest.mark.parametrize("told", ["One was <warm> & “wild”, at 27 °C.", "Hm."])
def test_at_a_split_sitting_no_page_is_longer_than_another(
    guest: Guest, at: Workplace, told: str
) -> None:
    """Neither where something is told nor how much: each step, a refusal, a ballot's change."""
    known = serving(at, planned=24, information=Information.SPLIT, told=told)
    lengths: dict[str, set[int]] = {}
    reads: set[bool] = set()
    for tray in trays(at, known):
        if tray.number < 10:  # a card's number has a digit less there, whatever is told
            continue
        phone = Guest(guest.client.application)
        page = opened(phone, at, known, tray)
        reads.add(told in page.text)
        ref = ref_of(token(at, known, tray))
        take_ballot.take_phone(at, ref, answers(known, tray), "k" * 16)
        seen = {"opened": page, "refused": phone.send(page, button="on", follow=False)}
        for step in STEPS:
            seen[step] = phone.get(f"/t/{ref}?at={step}")
        seen["change"] = phone.get(f"/t/{ref}/change")
        for name, one in seen.items():
            size = len(one.response.get_data())
            lengths.setdefault(name, set()).add(size - len(one.form().values("csrf_token")[0]))
    assert reads == {True, False}
    assert {name: len(sizes) for name, sizes in lengths.items()} == dict.fromkeys(lengths, 1)
    assert set(lengths) == {"opened", "refused", "change", *STEPS}


def test_an_informed_sitting_is_not_padded(guest: Guest, at: Workplace) -> None:
    known = serving(at, information=Information.INFORMED, told="One was warm.")
    assert " " * 12 not in re.sub(r"\n +", "", opened(guest, at, known, trays(at, known)[0]).html)


def test_without_the_instance_key_a_split_sittings_phone_points_to_the_slip(
    guest: Guest, at: Workplace, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = serving(at, information=Information.SPLIT, told="One was warm.")
    tray = trays(at, known)[0]
    page = opened(guest, at, known, tray)
    assert "folded slip" not in page.text

    def shut(*_asked: object) -> frozenset[int]:
        raise PanelError("key-at-rest-shut", say("The sealed key does not open."), Fault.PLACE)

    monkeypatch.setattr(take_ballot, "lots", shut)
    page = opened(guest, at, known, tray)
    assert page.status == 200
    assert "Beside your card lies a folded slip" in page.text
    assert "One was warm." not in page.html
    over = filled_in(guest, page, known, tray)
    assert "Your ballot is in" in guest.send(over, button="send").text


def test_a_card_of_a_sitting_that_was_called_off_says_so(guest: Guest, at: Workplace) -> None:
    drawn = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    known = seal_comparison.seal(at, ORGANISER, drawn.id)
    call_off.call_off(at, ORGANISER, known.id, known.sittings[0].id)
    page = opened(guest, at, known, trays(at, known)[0])
    assert page.status == 200
    assert "This sitting was called off." in page.text
    assert "“Spring evening” does not take place" in page.text
    assert "closed" not in page.text
    assert not [link for link in page.links if "late" in link]
    late = guest.get(f"{page.path}?late=yes")
    assert "called off" in late.text
    assert not late.forms


def test_a_mistyped_code_is_looked_for_where_it_stands(guest: Guest) -> None:
    page = guest.send(guest.get("/card"), "card", code="ABCD EFGH")
    assert "on the card under its square code" in page.text
    assert "foot" not in page.text


def test_times_are_those_of_the_room(guest: Guest, at: Workplace, clock: Clock) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    clock.forward(days=30)  # after the clocks went forward in London
    over = filled_in(guest, opened(guest, at, known, tray), known, tray)
    assert "19:30" in guest.send(over, button="send").text
