"""The evening as its organiser leads it, from the kit to the published result, without scripts."""

import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from urllib.parse import urlencode

import pypdfium2
import pytest
from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Tray
from panel.core.deeds import Deed
from panel.core.names import CardStanding, Role, SittingStanding, Standing
from panel.core.paper.payload import ref_of
from panel.services import open_sitting, plan_comparison, seal_comparison, take_ballot
from panel.services.workplace import Workplace
from panel.store import records
from tests.builders import (
    ORGANISER,
    START,
    answers,
    draft,
    sealed,
    serving,
    sitting_draft,
    token,
    trays,
)
from tests.web.guest import Guest


def again(at: Workplace, known: Comparison) -> Comparison:
    return plan_comparison.comparison(at, ORGANISER, known.id)


def by_phone(at: Workplace, known: Comparison, tray: Tray, position: int = 1) -> None:
    ref = ref_of(token(at, known, tray))
    take_ballot.take_phone(at, ref, answers(known, tray, position), f"key of tray {tray.number}")


def keyed(at: Workplace, known: Comparison, tray: Tray, position: int) -> None:
    card = card_number(tray.number)
    take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, tray, position), "")


def pages_of(pdf: bytes) -> int:
    document = pypdfium2.PdfDocument(BytesIO(pdf))
    count = len(document)
    document.close()
    return count


# --- the kit --------------------------------------------------------------------------------------


def test_every_sheet_has_as_many_pages_as_the_list_says(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    page = organiser.get(f"/organise/{known.id}/print")
    rows = re.findall(
        r'href="(/organise/[^"]+\.pdf)".*?<td class="number">(\d+)</td>', page.html, re.DOTALL
    )
    assert len(rows) >= 6
    for path, pages in rows:
        answer = organiser.client.get(path)
        assert answer.mimetype == "application/pdf", path
        assert "attachment" in answer.headers["Content-Disposition"]
        assert pages_of(answer.data) == int(pages), path
    usual = page.text.partition(" on request")[0]
    total = int(re.search(r"(\d+) pages to print", page.text)[1])  # type: ignore[index]
    listed = len(re.findall(r"for the ", usual))
    assert 0 < listed <= total


def test_sheets_that_show_the_key_say_so(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    html = organiser.get(f"/organise/{known.id}/print").html
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", html, re.DOTALL)
    telling = {
        re.search(r"/([\w-]+)\.pdf", row)[1]  # type: ignore[index]
        for row in rows
        if "Shows which is which" in row
    }
    assert telling == {"pour-mats", "pour-sheet", "sealed-key"}


def test_the_paper_can_be_chosen_and_is_refused_in_words(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    path = f"/organise/{known.id}/print"
    chosen = organiser.get(f"{path}?labels=a4-21&spares=6")
    assert "labels=a4-21" in "".join(chosen.links)
    assert all(
        organiser.client.get(link).status_code == 200
        for link in chosen.links
        if "labels.pdf" in link
    )
    refused = organiser.get(f"{path}?labels=a4-21&skip_labels=21&spares=many")
    assert "A sheet does not have so many labels." in refused.text
    assert "“many” is no whole number" in refused.text
    asked = next(one for one in refused.forms if one.action.endswith("/print"))
    assert asked.values("spares") == ["many"]


OWN_SHEET = {
    "labels": "own", "own_columns": "3", "own_rows": "8", "own_width": "63,5", "own_height": "33.9",
    "own_pitch_x": "66", "own_pitch_y": "33.9", "own_left": "7.25", "own_top": "12.9",
}  # fmt: skip


def pages_drawn(pdf: bytes) -> list[bytes]:
    """Every page as it looks."""
    return [page.render(scale=1).to_numpy().tobytes() for page in pypdfium2.PdfDocument(pdf)]


def test_labels_are_printed_on_a_sheet_given_by_its_measures(
    organiser: Guest, at: Workplace
) -> None:
    known = sealed(at)
    path = f"/organise/{known.id}/print"
    chosen = organiser.get(f"{path}?{urlencode(OWN_SHEET)}")
    (link,) = [link for link in chosen.links if "cup-labels.pdf" in link]
    usual = organiser.client.get(f"{path}/{known.sittings[0].id}/cup-labels.pdf?labels=a4-24")
    own = organiser.client.get(link)
    assert own.status_code == 200
    assert pages_drawn(own.data) == pages_drawn(usual.data)


@pytest.mark.parametrize(
    ("changed", "named", "said"),
    [
        (
            {"own_columns": "4"},
            "Labels across",
            "4 columns end 58.8 mm beyond the page’s right edge",
        ),
        ({"own_rows": "9"}, "Labels down", "9 rows end"),
        ({"own_pitch_x": "50"}, "From one left edge to the next", "would overlap"),
        ({"own_left": "-2"}, "Left margin", "cannot begin outside the page"),
        ({"own_width": ""}, "Width of a label", "Measure it on the sheet"),
        ({"own_height": "high"}, "Height of a label", "“high” is no number"),
        ({"own_rows": "400"}, "Labels down", "At most 40"),
    ],
)
def test_a_label_sheet_that_does_not_fit_its_page_is_refused_at_its_measure(
    organiser: Guest, at: Workplace, changed: dict[str, str], named: str, said: str
) -> None:
    known = sealed(at)
    asked = OWN_SHEET | changed
    refused = organiser.get(f"/organise/{known.id}/print?{urlencode(asked)}")
    assert said.replace("’", "'") in refused.text.replace("’", "'")
    assert named in refused.text
    form = next(one for one in refused.forms if one.action.endswith("/print"))
    assert {name: form.values(name) for name in asked} == {k: [v] for k, v in asked.items()}


def test_a_draft_has_no_kit_yet(organiser: Guest, at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft(), None)
    plan_comparison.comparison(at, ORGANISER, known.id)
    page = organiser.get(f"/organise/{known.id}")
    assert f"/organise/{known.id}/print" not in page.links


def test_a_card_is_printed_again_and_the_old_one_opens_nothing(
    app: Flask, organiser: Guest, at: Workplace
) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    page = organiser.get(f"/organise/{known.id}/print")
    for typed, said in (
        ("4711", "as it stands behind the number on the card"),
        ("", "is not a card number"),
        (card_number(99), "There is no open card 99"),
    ):
        refused = organiser.send(page, "/again", button="card", again=typed)
        assert said in refused.text
    old = token(at, known, tray)
    sent = organiser.client.post(
        f"/organise/{known.id}/print/again",
        data={**dict(page.form("/again").fields), "again": card_number(tray.number)},
        headers={"Origin": "http://localhost"},
    )
    assert pages_of(sent.data) == 1
    assert Guest(app).get(f"/{old}").status == 404
    fresh = trays(at, known)[0]
    assert fresh.version == tray.version + 1
    assert Guest(app).get(f"/{token(at, known, fresh)}").status == 200


# --- the steps ------------------------------------------------------------------------------------


def steps(organiser: Guest, known: Comparison) -> dict[str, str]:
    """Title of each step to its state."""
    html = organiser.get(f"/organise/{known.id}").html
    evening = html[html.index('<ol class="evening">') :]
    found = re.findall(r'<li class="(done|now|later)".*?<h2>(.*?)</h2>', evening, re.DOTALL)
    return {title: state for state, title in found}


def test_the_steps_go_from_one_to_the_next(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    hold = "Hold “Spring evening”"
    before = steps(organiser, known)
    assert list(before) == [
        "Ask the question",
        "Check it and seal it",
        "Print the kit",
        hold,
        "Settle what is open",
        "Close and unseal",
        "Read the findings",
        "Publish",
    ]
    assert (before["Print the kit"], before[hold], before["Publish"]) == ("now", "now", "later")
    organiser.send(organiser.get(f"/organise/{known.id}"), "/open")
    assert again(at, known).sittings[0].standing is SittingStanding.SERVING
    by_phone(at, known, trays(at, known)[0])
    organiser.send(organiser.get(f"/organise/{known.id}"), "/close")
    held = steps(organiser, known)
    assert (held[hold], held["Settle what is open"], held["Close and unseal"]) == (
        "done",
        "now",
        "later",
    )
    organiser.send(organiser.get(f"/organise/{known.id}"), "/set-aside-rest")
    assert steps(organiser, known)["Close and unseal"] == "now"
    organiser.send(organiser.get(f"/organise/{known.id}"), f"{known.id}/close")
    assert again(at, known).standing is Standing.CLOSED
    opened = steps(organiser, known)
    assert (opened["Close and unseal"], opened["Read the findings"]) == ("done", "now")


def test_the_page_says_what_keeps_it_from_closing(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    page = organiser.get(f"/organise/{known.id}")
    assert "The sitting “Spring evening” is still open. Close it first." in page.text
    assert "trays have no ballot. Set the rest aside first." in page.text
    token_of_page = page.form("/close").values("csrf_token")[0]
    forced = organiser.post(f"/organise/{known.id}/close", [("csrf_token", token_of_page)])
    assert forced.status == 409
    assert again(at, known).standing is Standing.SERVING


def test_pressed_twice_says_so_and_does_nothing_more(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    page = organiser.get(f"/organise/{known.id}")
    organiser.send(page, "/open")
    second = organiser.send(page, "/open")
    assert second.status == 409
    assert "This sitting has been opened already." in second.text
    assert "Close the sitting" in second.text


def test_a_link_at_hand_for_each_who_serves(app: Flask, organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    path = f"/organise/{known.id}/sittings/{known.sittings[0].id}/links"
    page = organiser.get(path)
    assert "None yet." in page.text
    shown = organiser.send(page, "/links", role=Role.STEWARD)
    address = re.search(r'<p class="address"[^>]*>(\S+)</p>', shown.html)
    assert address is not None
    assert address[1].startswith("http://localhost/in/")
    assert "<svg" in shown.html
    listed = organiser.get(path)
    assert address[1].rpartition("/")[2] not in listed.html
    assert "not opened yet" in listed.text
    steward = Guest(app)
    board = steward.send(steward.get(address[1].removeprefix("http://localhost")), "/in/")
    assert board.path == f"/steward/{known.id}/{known.sittings[0].id}"
    assert "in use since" in organiser.get(path).text
    organiser.send(organiser.get(path), "/revoke")
    assert "taken back" in organiser.get(path).text
    assert steward.get(board.path).status == 403


# --- counting, never answers ----------------------------------------------------------------------


def test_the_count_tells_how_many_and_nothing_else(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    path = f"/organise/{known.id}/sittings/{known.sittings[0].id}/count"
    first, second, third, *_ = trays(at, known)
    assert organiser.get(path).text == "0 ballots in , of 6 trays planned."
    by_phone(at, known, first)
    by_phone(at, known, second)
    keyed(at, known, second, 2)
    open_sitting.hand_out(at, ORGANISER, known.id, third.number)
    piece = organiser.get(path)
    assert piece.text == ("2 ballots in , of 6 trays planned; 1 tray is out; 1 is in question.")
    for tray in (first, second, third):
        assert not [code for code in tray.codes() if code in piece.html]


def test_a_question_is_settled_by_codes_alone(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    path = f"/organise/{known.id}/questions"
    assert "No question is open." in organiser.get(path).text
    by_phone(at, known, tray, 1)
    keyed(at, known, tray, 3)
    page = organiser.get(path)
    first, _, third = tray.codes()
    assert f"Odd cup: {first}" in page.text
    assert f"Odd cup: {third}" in page.text
    work = page.html[page.html.index("<h1>") :]
    assert not [beer.name for beer in known.beers if beer.name in work]
    unchosen = organiser.send(page, f"/questions/{tray.number}")
    assert "Choose which copy counts." in unchosen.text
    assert trays(at, known)[0].standing is CardStanding.IN_QUESTION
    organiser.send(page, f"/questions/{tray.number}", revision="2")
    assert trays(at, known)[0].standing is CardStanding.RETURNED
    late = organiser.send(page, f"/questions/{tray.number}", revision="1")
    assert late.status == 409
    assert "This question is settled already" in late.text


@pytest.mark.parametrize("page", ["", "/check", "/print", "/questions"])
def test_no_page_shows_a_finding_before_closing(organiser: Guest, at: Workplace, page: str) -> None:
    known = serving(at)
    for number, tray in enumerate(trays(at, known)[:6]):
        by_phone(at, known, tray, 1 + number % 3)
    text = organiser.get(f"/organise/{known.id}{page}").text
    assert "found the odd cup" not in text
    assert "correct" not in text
    findings = organiser.get(f"/organise/{known.id}/findings")
    assert findings.status == 403
    assert "so that the test stays blind" in findings.text


# --- amendments, findings, publication ------------------------------------------------------------


def test_an_amendment_needs_both_what_and_why(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    page = organiser.get(f"/organise/{known.id}")
    assert "None so far." in page.text
    refused = organiser.send(page, "/amend", what="Another hall", reason=" ")
    assert "Write both what is changed and why" in refused.text
    assert refused.form("/amend").values("what") == ["Another hall"]
    written = organiser.send(refused, "/amend", reason="The roof leaks <and> drips")
    assert "The roof leaks <and> drips" in written.text
    assert "None so far." not in written.text


def test_findings_are_read_first_and_published_then(
    app: Flask, organiser: Guest, at: Workplace
) -> None:
    known = serving(at)
    for number, tray in enumerate(trays(at, known)[:6]):
        by_phone(at, known, tray, 1 + number % 3)
    organiser.send(organiser.get(f"/organise/{known.id}"), "/close")
    organiser.send(organiser.get(f"/organise/{known.id}"), "/set-aside-rest")
    page = organiser.send(organiser.get(f"/organise/{known.id}"), f"{known.id}/close")
    assert page.path == f"/organise/{known.id}/findings"
    assert "of 6 blinded tasters found the odd cup" in page.text
    assert "only organisers read this" in page.text
    public = f"/r/{known.slug}"
    member = Guest(app)
    assert "found the odd cup" not in member.get(public).text
    organiser.send(page, "/publish")
    assert again(at, known).standing is Standing.PUBLISHED
    assert public in organiser.get(f"/organise/{known.id}/findings").links
    assert member.get(public).status == 200


def test_repeat_trials_of_one_brewer_pass_every_page(organiser: Guest, at: Workplace) -> None:
    alone = replace(draft(), helpers="alone")
    assert alone.helpers == "alone"
    known = sealed(at, kind="repeat", planned=5)
    organiser.send(organiser.get(f"/organise/{known.id}"), "/open")
    for path in ("", "/check", "/print", "/questions"):
        assert organiser.get(f"/organise/{known.id}{path}").status == 200


def test_a_sitting_with_trays_out_closes_only_when_one_says_so(
    organiser: Guest, at: Workplace
) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    open_sitting.hand_out(at, ORGANISER, known.id, 1)
    path = f"/organise/{known.id}"
    refused = organiser.send(organiser.get(path), f"{sitting}/close")
    assert "One tray is out and its ballot is not in." in refused.text
    closed = organiser.send(refused, f"{sitting}/close", anyway="yes")
    assert "Close the sitting" not in closed.text


def test_a_draft_changed_meanwhile_comes_back_with_what_was_typed(
    organiser: Guest, at: Workplace
) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft())
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    page = organiser.get(f"/organise/{known.id}/question")
    plan_comparison.save_draft(at, ORGANISER, known.id, draft(title="Somebody else's question"))
    refused = organiser.send(page, "/question", title="My question")
    assert "Somebody else has changed this comparison meanwhile." in refused.text
    assert refused.form("/question").values("title") == ["My question"]
    kept = plan_comparison.comparison(at, ORGANISER, known.id)
    assert kept.title == "Somebody else's question"


def test_a_sitting_is_called_off_on_the_evenings_page(organiser: Guest, at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft("First"))
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft("Second"))
    known = seal_comparison.seal(at, ORGANISER, known.id)
    page = organiser.get(f"/organise/{known.id}")
    assert "It did not take place." not in page.text
    done = organiser.send(page, f"{known.sittings[1].id}/call-off")
    assert done.text.count("It did not take place.") == 1
    assert len([form for form in done.forms if form.action.endswith("/call-off")]) == 1
    assert again(at, known).sittings[1].not_held


@pytest.mark.parametrize(("days", "planned"), [(-9, "Friday 5 March"), (2, "Tuesday 16 March")])
def test_opened_on_another_day_only_when_one_says_so(
    organiser: Guest, at: Workplace, days: int, planned: str
) -> None:
    """A page that was loaded the day before asks too; the answer is recorded."""
    known = sealed(at, starts=START + timedelta(days=days))
    sitting = known.sittings[0].id
    page = organiser.get(f"/organise/{known.id}")
    asks = f"This sitting is planned for {planned} 2027. Open it today, Sunday 14 March 2027, all"
    assert asks in page.text
    refused = organiser.send(page, f"/sittings/{sitting}/open", another_day="")
    assert refused.status == 409
    assert f'href="#sitting-{sitting}"' in refused.html
    assert again(at, known).standing is Standing.SEALED
    opened = organiser.send(refused, f"/sittings/{sitting}/open")
    assert "0 ballots in" in opened.text
    with at.units.read() as session:
        assert records.details(session, known.id, Deed.SITTING_OPENED) == ({"another_day": True},)


def test_on_its_day_nothing_is_asked(organiser: Guest, at: Workplace) -> None:
    known = sealed(at)
    page = organiser.get(f"/organise/{known.id}")
    assert "planned for" not in page.text
    organiser.send(page, f"/sittings/{known.sittings[0].id}/open")
    with at.units.read() as session:
        assert records.details(session, known.id, Deed.SITTING_OPENED) == ({},)
