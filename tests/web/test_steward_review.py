"""Cards looked at one by one on the steward's pages, without scripts."""

import pytest
from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.card_reading import Decision, ReadingStanding
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.names import CardStanding, Channel
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.payload import ref_of
from panel.services import read_cards, review_cards, take_ballot
from panel.services.workplace import Workplace
from panel.store import ballots, records
from tests.builders import ORGANISER, answers, serving, token, trays
from tests.services.test_read_cards import filled, png, sheet_of
from tests.web.guest import Guest


@pytest.fixture
def known(at: Workplace) -> Comparison:
    """A sitting of whose first sheet three cards wait: two cups marked, nothing marked, nothing."""
    made = serving(at)
    picture = sheet_of(at, made.id, made.sittings[0].id)
    form = CARD_FORMATS["a6"]
    filled(picture, made, form, 0, {("knew", "nothing"), ("odd", 2), ("sure", "guess")})
    filled(picture, made, form, 1, {("knew", "nothing"), ("odd", 1), ("odd", 3)})
    list(read_cards.read_cards(at, ORGANISER, made.id, png(picture)))
    return made


def root(known: Comparison) -> str:
    return f"/steward/{known.id}/{known.sittings[0].id}/review"


def pile(at: Workplace, known: Comparison) -> review_cards.Pile:
    return review_cards.pile_of(at, ORGANISER, known.id, known.sittings[0].id)


@pytest.fixture
def doubtful(at: Workplace, known: Comparison) -> int:
    """The reading of the card with two cups marked."""
    return next(
        one.number
        for one in pile(at, known).readings
        if one.read.open and one.read.answers and one.standing is ReadingStanding.WAITING
    )


def test_the_list_says_how_many_wait_and_leads_to_them(
    organiser: Guest, at: Workplace, known: Comparison
) -> None:
    page = organiser.get(root(known))
    assert "3 cards are to be looked at." in page.text
    assert page.text.count("taken as it was read") == 1
    assert f"{root(known)}/{pile(at, known).waiting[0]}" in page.links
    assert "3 cards to look at" in organiser.get(root(known)[:-6] + "photos").text


def test_a_card_shows_its_picture_its_doubts_and_its_numbers_and_no_beer(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    page = organiser.get(f"{root(known)}/{doubtful}")
    assert 'href="data:image/jpeg;base64,' in page.html
    review = review_cards.review(at, ORGANISER, known.id, known.sittings[0].id, doubtful)
    assert f"Card {review.card}" in page.text
    assert page.html.count('<rect class="marked"') == 3
    assert page.html.count("<tr>") == len(review.reading.read.places) + 1
    for code in review.tray.codes():
        assert code in page.text
    for beer in known.beers:
        assert beer.value not in page.text
    assert known.variable not in page.text
    buttons = {one["value"] for one in page.form("/review/").buttons}
    assert buttons == {"otherwise", "left-open"}  # the cup is not known: not "as it was read"


def test_what_is_keyed_in_goes_through_the_one_door_and_is_recorded(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    review = review_cards.review(at, ORGANISER, known.id, known.sittings[0].id, doubtful)
    code = review.tray.codes()[2]
    page = organiser.get(f"{root(known)}/{doubtful}")
    after = organiser.send(page, "/review/", button="otherwise", **{"answer-odd": code})
    assert f"Card {review.card} is in as you keyed it." in after.text
    with at.units.read() as session:
        (copy,) = ballots.revisions(session, known.id, review.tray.number)
        told = records.details(session, known.id, Deed.READING_DECIDED)
    assert copy.channel is Channel.SCANNED
    assert copy.answers["odd"] == (code,)
    assert copy.answers["knew"] == ("nothing",)
    assert told == ({"decision": "otherwise", "reading": doubtful, "revision": 1},)
    decided = review_cards.review(at, ORGANISER, known.id, known.sittings[0].id, doubtful).reading
    assert (decided.decision, decided.standing) == (Decision.OTHERWISE, ReadingStanding.DECIDED)
    assert decided.decided_by
    tray = next(one for one in trays(at, known) if one.number == review.tray.number)
    assert tray.standing is CardStanding.RETURNED


def test_the_same_form_sent_twice_counts_once(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    review = review_cards.review(at, ORGANISER, known.id, known.sittings[0].id, doubtful)
    page = organiser.get(f"{root(known)}/{doubtful}")
    for _ in range(2):
        organiser.send(page, "/review/", button="otherwise",
                       **{"answer-odd": review.tray.codes()[0]})  # fmt: skip
    with at.units.read() as session:
        assert len(ballots.revisions(session, known.id, review.tray.number)) == 1
        assert len(records.details(session, known.id, Deed.READING_DECIDED)) == 1


def test_left_open_twice_is_one_line_and_another_decision_one_more(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    page = organiser.get(f"{root(known)}/{doubtful}")
    for _ in range(2):
        organiser.send(page, "/review/", button="left-open")
    review = review_cards.review(at, ORGANISER, known.id, known.sittings[0].id, doubtful)
    code = review.tray.codes()[0]
    for _ in range(2):  # a fresh form each time, with a key of its own
        page = organiser.get(f"{root(known)}/{doubtful}")
        organiser.send(page, "/review/", button="otherwise", **{"answer-odd": code})
    with at.units.read() as session:
        told = records.details(session, known.id, Deed.READING_DECIDED)
    assert [one["decision"] for one in told] == ["left-open", "otherwise"]


def test_taken_as_it_was_read_says_what_stays_open_and_it_can_be_decided(
    organiser: Guest, at: Workplace
) -> None:
    made = serving(at)
    picture = sheet_of(at, made.id, made.sittings[0].id)
    form = CARD_FORMATS["a6"]
    for place in (0, 1):  # which cup is clear; what was known before is not marked
        filled(picture, made, form, place, {("odd", 2), ("sure", "guess")})
    list(read_cards.read_cards(at, ORGANISER, made.id, png(picture)))
    half = [one for one in pile(at, made).readings if "odd" in one.read.answers]
    first, second = (one.number for one in half)
    page = organiser.get(f"{root(made)}/{first}")
    assert "“It is as it was read” leaves open what is in doubt: Knew before ." in page.text
    organiser.send(page, "/review/", button="as-read")
    page = organiser.get(f"{root(made)}/{second}")
    organiser.send(page, "/review/", button="otherwise", **{"answer-knew": "helped"})
    with at.units.read() as session:
        told = records.details(session, made.id, Deed.READING_DECIDED)
        kept = [ballots.revisions(session, made.id, one.tray)[0].answers for one in half]
    assert [one.get("left_open") for one in told] == ["knew", None]
    assert [one.get("knew") for one in kept] == [None, ("helped",)]


def test_a_script_is_told_where_to_go_on_and_a_page_ahead_counts_without_the_one_before(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    onward = pile(at, known).after(doubtful)
    assert "All: 3 to look at" in organiser.get(f"{root(known)}/{onward}").text
    ahead = organiser.get(f"{root(known)}/{onward}?ahead={doubtful}")
    assert "All: 2 to look at" in ahead.text
    page = organiser.get(f"{root(known)}/{doubtful}")
    told = organiser.send(page, "/review/", button="left-open", by="script").response.get_json()
    assert told["onward"] == f"{root(known)}/{onward}"
    assert told["address"].startswith(told["onward"] + "?done=")
    assert told["done"].endswith(" is left open.")
    assert told["question"] is False


def test_left_open_writes_no_ballot_and_waits_no_more(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    page = organiser.get(f"{root(known)}/{doubtful}")
    after = organiser.send(page, "/review/", button="left-open")
    assert "is left open." in after.text
    assert doubtful not in pile(at, known).waiting
    number = next(one.tray for one in pile(at, known).readings if one.number == doubtful)
    with at.units.read() as session:
        assert ballots.revisions(session, known.id, number) == ()


def test_nothing_chosen_is_refused_and_writes_nothing(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    page = organiser.get(f"{root(known)}/{doubtful}")
    again = organiser.send(page, "/review/", button="otherwise")
    assert again.status == 422
    assert 'href="data:image/jpeg;base64,' in again.html
    assert ("answer-knew", "nothing") in again.form("/review/").fields
    assert doubtful in pile(at, known).waiting


def test_a_decision_that_differs_from_the_phone_is_put_in_question(
    organiser: Guest, at: Workplace, known: Comparison, doubtful: int
) -> None:
    review = review_cards.review(at, ORGANISER, known.id, known.sittings[0].id, doubtful)
    tray = review.tray
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k")
    page = organiser.get(f"{root(known)}/{doubtful}")
    after = organiser.send(page, "/review/", button="otherwise", **{"answer-odd": tray.codes()[2]})
    assert f"Card {card_number(tray.number)} differs from its ballot by another way" in after.text
    tray = next(one for one in trays(at, known) if one.number == tray.number)
    assert tray.standing is CardStanding.IN_QUESTION


def test_a_card_that_is_not_there_or_of_another_sitting_is_missing(
    organiser: Guest, app: Flask, at: Workplace, known: Comparison, doubtful: int
) -> None:
    assert organiser.get(f"{root(known)}/9999").status == 404
    other = serving(at)
    assert organiser.get(f"{root(other)}/{doubtful}").status == 404
    assert Guest(app).get(f"{root(known)}/{doubtful}").status == 403
