"""The steward's phone: trays by one tap, paper ballots keyed in, codes and counts only."""

import re
from typing import Any

import pytest
from flask import Flask

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison, Tray
from panel.core.methods import METHODS, method_named
from panel.core.names import CardStanding, Information, Reason, Role, SittingKind
from panel.core.paper.payload import ref_of
from panel.core.questions import YesNoPerCup
from panel.core.script import script_of
from panel.services import (
    open_sitting,
    plan_comparison,
    print_kit,
    seal_comparison,
    settle_ballots,
    take_ballot,
)
from panel.services.workplace import Workplace
from panel.store import ballots
from tests.builders import (
    ORGANISER,
    answers,
    draft,
    sealed,
    serving,
    sitting_draft,
    token,
    trays,
)
from tests.printing.papers import text_of
from tests.web.conftest import with_pass
from tests.web.guest import Guest, Page


@pytest.fixture
def known(at: Workplace) -> Comparison:
    return serving(at, planned=12)


@pytest.fixture
def steward(app: Flask, at: Workplace, known: Comparison) -> Guest:
    return with_pass(app, at, known, Role.STEWARD)


def root(known: Comparison, place: int = 0) -> str:
    return f"/steward/{known.id}/{known.sittings[place].id}"


def standing(at: Workplace, known: Comparison, number: int) -> CardStanding:
    return next(tray.standing for tray in trays(at, known) if tray.number == number)


def waiting(at: Workplace, known: Comparison) -> Tray:
    """The first planned tray of the first wave."""
    return min(
        (tray for tray in trays(at, known) if not tray.spare), key=lambda one: (one.wave, one.place)
    )


# --- trays ---------------------------------------------------------------------------------------


def test_the_board_says_in_a_sentence_where_the_sitting_stands(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    planned = [tray for tray in trays(at, known) if not tray.spare]
    for tray in planned[:3]:
        open_sitting.hand_out(at, ORGANISER, known.id, tray.number)
    card = token(at, known, planned[0])
    take_ballot.take_phone(at, ref_of(card), answers(known, planned[0]), "k" * 16)
    text = steward.get(root(known)).text
    assert "1 ballot is in. 2 trays are out." in text
    assert "Ready spares not counted 9" in text


def test_each_standing_of_a_tray_has_an_honest_word(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    """What nobody needed is not set aside; nothing is on a table before it is carried there."""
    assert "on the table" not in steward.get(f"{root(known)}/trays").text
    first, second, third = [tray for tray in trays(at, known) if tray.wave == 1][:3]
    open_sitting.set_aside(at, ORGANISER, known.id, first.number, Reason.SPILLED)
    open_sitting.hand_out(at, ORGANISER, known.id, second.number)
    open_sitting.hand_out(at, ORGANISER, known.id, third.number)
    take_ballot.take_phone(at, ref_of(token(at, known, third)), answers(known, third), "k" * 16)
    sitting = known.sittings[0].id
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting, anyway=True)
    for rest_is_set_aside in (False, True):
        if rest_is_set_aside:
            settle_ballots.set_aside_rest(at, ORGANISER, known.id)
        board = steward.get(root(known)).text
        assert "Set aside spilled, talked over and the like 1" in board
        unused = len(trays(at, known)) - 3
        assert f"Not used spares among them {unused}" in board
        assert ("No ballot came back 1" in board) is rest_is_set_aside
        assert "Ready" not in board
        listed = steward.get(f"{root(known)}/trays?wave=1")
        assert listed.text.count("set aside: spilled") == 1
        assert listed.text.count("set aside") == 1
        assert "not used" in listed.text
        assert ("not coming back" in listed.text) is rest_is_set_aside
        # What somebody set aside can be taken back; what nobody needed, nobody set aside.
        assert [one.action.split("/")[-2] for one in listed.forms if "/back" in one.action][:1] == [
            str(first.number)
        ]


@pytest.mark.parametrize("information", [Information.INFORMED, Information.SPLIT])
def test_where_card_numbers_do_not_begin_at_one_the_board_says_so(
    app: Flask, at: Workplace, information: Information
) -> None:
    draws = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    later = sitting_draft("Second evening", information=information, told="One was warm.")
    plan_comparison.add_sitting(at, ORGANISER, draws.id, later)
    one = seal_comparison.seal(at, ORGANISER, draws.id)
    first, second = (
        with_pass(app, at, one, Role.STEWARD, place).get(root(one, place)).text for place in (0, 1)
    )
    assert "numbered from" not in first
    numbers = f"numbered from {card_number(13)} to {card_number(18)}: lower numbers belong"
    assert numbers in second
    assert f"Spares go from {card_number(19)} to {card_number(24)}." in second


def test_one_tap_hands_out_takes_back_and_sets_aside(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    tray = waiting(at, known)
    page = steward.get(f"{root(known)}/trays")
    assert "Wave 1" in page.text
    page = steward.send(page, f"/{tray.number}/out")
    assert standing(at, known, tray.number) is CardStanding.HANDED_OUT
    page = steward.send(page, f"/{tray.number}/back")
    assert standing(at, known, tray.number) is CardStanding.PRINTED
    page = steward.send(page, f"/{tray.number}/aside")
    set_aside = next(one for one in trays(at, known) if one.number == tray.number)
    assert set_aside.reason is Reason.MISFILLED
    assert "set aside: misfilled" in page.text
    page = steward.send(page, f"/{tray.number}/back")
    assert standing(at, known, tray.number) is CardStanding.PRINTED


def test_a_tray_is_set_aside_with_a_reason_from_the_list(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    tray = waiting(at, known)
    page = steward.get(f"{root(known)}/trays")
    form = [one for one in page.forms if one.action.endswith(f"/{tray.number}/aside")][1]
    fields = [(name, value) for name, value in form.fields if name != "reason"]
    steward.post(form.action, [*fields, ("reason", "saw")])
    set_aside = next(one for one in trays(at, known) if one.number == tray.number)
    assert set_aside.reason is Reason.SAW


def test_spares_stand_apart_from_the_planned_trays(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    spare = next(tray for tray in trays(at, known) if tray.spare)
    assert f"{card_number(spare.number)} " not in steward.get(f"{root(known)}/trays").text
    page = steward.get(f"{root(known)}/trays?wave={spare.wave}")
    steward.send(page, f"/{spare.number}/out")
    assert standing(at, known, spare.number) is CardStanding.HANDED_OUT


def test_the_next_wave_comes_when_one_has_gone_out(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    for tray in trays(at, known):
        if tray.wave == 1:
            open_sitting.hand_out(at, ORGANISER, known.id, tray.number)
    assert "Wave 2" in steward.get(f"{root(known)}/trays").text
    assert (
        "No tray of this wave is left to hand out"
        in steward.get(f"{root(known)}/trays?wave=1").text
    )


def test_a_hand_out_number_is_noted(steward: Guest, at: Workplace, known: Comparison) -> None:
    tray = waiting(at, known)
    page = steward.get(f"{root(known)}/trays")
    page = steward.send(page, f"/{tray.number}/name", taster="23 <i>")
    assert "23 <i>" in page.text
    assert "23 <i>" not in page.html


def test_trays_that_are_out_are_listed_until_their_ballot_is_in(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    assert "Nothing is out" in steward.get(f"{root(known)}/out").text
    tray = waiting(at, known)
    open_sitting.hand_out(at, ORGANISER, known.id, tray.number)
    page = steward.get(f"{root(known)}/out")
    assert card_number(tray.number) in page.text
    assert steward.send(page, f"/{tray.number}/aside").path.endswith("/out")
    assert "Nothing is out" in steward.get(f"{root(known)}/out").text


def test_a_tray_that_is_elsewhere_says_so(steward: Guest, at: Workplace, known: Comparison) -> None:
    tray = waiting(at, known)
    page = steward.get(f"{root(known)}/trays")
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k" * 16)
    answer = steward.send(page, f"/{tray.number}/out")
    assert answer.status == 409
    assert "somewhere else already" in answer.text


# --- paper ballots -------------------------------------------------------------------------------


def key_in(steward: Guest, known: Comparison, **filled: object) -> Page:
    return steward.send(steward.get(f"{root(known)}/key"), "/key", **filled)


@pytest.mark.parametrize("method", METHODS)
def test_a_paper_ballot_of_every_method_is_keyed_in(app: Flask, at: Workplace, method: str) -> None:
    one = serving(at, method)
    steward = with_pass(app, at, one, Role.STEWARD)
    tray = trays(at, one)[0]
    question = method_named(method).decides(one.plan)
    codes = list(answers(one, tray)[question.id])
    name = f"answer-{question.id}"
    typed: dict[str, Any] = {name: codes}
    if isinstance(question, YesNoPerCup):  # the code and what is said of it stand side by side
        parts = [word.partition(":") for word in codes]
        typed = {f"code-{question.id}": [code for code, _, _ in parts]}
        typed[f"value-{question.id}"] = [value for _, _, value in parts]
    page = key_in(
        steward,
        one,
        card=card_number(tray.number).lower(),
        **{**typed, "answer-knew": "nothing"},
    )
    assert f"Card {card_number(tray.number)} is in." in page.text
    assert page.form("/key").values("card") == [""]
    with at.units.read() as session:
        (ballot,) = ballots.revisions(session, one.id, tray.number)
    assert ballot.answers[question.id] == tuple(codes)
    assert "sure" not in ballot.answers


@pytest.mark.parametrize(
    ("card", "words"),
    [
        ("", "is not a card number"),
        ("1", "The letter of card 1 is missing"),
        ("1 C", "do not belong together"),
        ("999 " + card_number(999)[-1], "No card of this comparison has number"),
    ],
)
def test_a_mistyped_card_is_refused_and_the_rest_is_kept(
    steward: Guest, known: Comparison, card: str, words: str
) -> None:
    page = key_in(steward, known, card=card, **{"answer-odd": "482", "answer-words": "crisp"})
    assert page.status in (404, 422)
    assert words in page.text
    assert page.form("/key").values("card") == [card]
    assert page.form("/key").values("answer-odd") == ["482"]
    assert page.form("/key").values("answer-words") == ["crisp"]


def test_a_code_of_another_tray_is_refused(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    first, second = trays(at, known)[:2]
    page = key_in(
        steward, known, card=card_number(first.number), **{"answer-odd": second.codes()[0]}
    )
    assert page.status == 422
    assert "Check the card's number and the code" in page.text


def test_the_deciding_code_must_be_there(steward: Guest, at: Workplace, known: Comparison) -> None:
    page = key_in(steward, known, card=card_number(trays(at, known)[0].number))
    assert page.status == 422
    assert "Choose one cup" in page.text


def test_a_copy_that_differs_from_the_phone_is_a_question(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    tray = trays(at, known)[0]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k" * 16)
    page = key_in(steward, known, card=card_number(tray.number), **{"answer-odd": tray.codes()[1]})
    assert "It is in question" in page.text
    assert standing(at, known, tray.number) is CardStanding.IN_QUESTION
    same = trays(at, known)[1]
    take_ballot.take_phone(at, ref_of(token(at, known, same)), answers(known, same, 1), "k" * 16)
    page = key_in(steward, known, card=card_number(same.number), **{"answer-odd": same.codes()[0]})
    assert "says the same" in page.text


def test_keyed_after_closing_it_is_listed_as_late(
    steward: Guest, at: Workplace, known: Comparison
) -> None:
    tray = trays(at, known)[0]
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    page = key_in(steward, known, card=card_number(tray.number), **{"answer-odd": tray.codes()[0]})
    assert "It came after closing" in page.text


def test_a_card_of_another_sitting_is_not_this_stewards(
    app: Flask, at: Workplace, known: Comparison
) -> None:
    other = serving(at)
    steward = with_pass(app, at, other, Role.STEWARD)
    page = steward.get(f"/steward/{other.id}/{other.sittings[0].id}/trays")
    number = trays(at, known)[0].number
    path = page.forms[0].action.replace(other.id, known.id)
    fields = page.forms[0].fields
    assert steward.post(path, fields).status == 403
    assert standing(at, known, number) is CardStanding.PRINTED


# --- what a steward must not learn ---------------------------------------------------------------


TOLD = "One was fermented at 27 degrees, the other not."
TELLING = ("Warm tank", "Cool tank", "fermentation", "27 °C", "27 degrees", "guess")


def test_what_is_told_stands_in_an_informed_sittings_script_and_nowhere_else(
    app: Flask, at: Workplace
) -> None:
    known = serving(at, information=Information.INFORMED, told=TOLD)
    steward = with_pass(app, at, known, Role.STEWARD)
    board = steward.get(root(known))
    said = board.text[board.text.index("Say this to the table") :]
    assert said.count(TOLD) == 1
    assert "serve no blinded sitting" in said
    assert board.html.count(TOLD) == 1
    for path in ("/trays", "/out", "/key", "/photos"):
        assert "27 degrees" not in steward.get(root(known) + path).html
    for information in (Information.BLINDED, Information.SPLIT):
        told = "" if information is Information.BLINDED else TOLD
        other = serving(at, information=information, told=told)
        html = with_pass(app, at, other, Role.STEWARD).get(root(other)).html
        assert "27 degrees" not in html
        assert "serve no blinded sitting" not in html


@pytest.mark.parametrize("kind", SittingKind)
@pytest.mark.parametrize("information", [Information.BLINDED, Information.INFORMED])
def test_screen_and_paper_say_the_same_script(
    app: Flask, at: Workplace, kind: SittingKind, information: Information
) -> None:
    told = "" if information is Information.BLINDED else TOLD
    known = serving(at, kind=kind, information=information, told=told)
    page = with_pass(app, at, known, Role.STEWARD).get(root(known)).text
    script = script_of(known, known.sittings[0])
    assert str(script.title) in page
    for paragraph in script.paragraphs:
        assert " ".join(str(one) for one in paragraph.said) in page
    if kind is SittingKind.TABLE:
        sheet = print_kit.sheet(at, ORGANISER, known.id, known.sittings[0].id, "steward-page")
        printed = re.sub(r"\s+", " ", text_of(sheet.pdf))
        for paragraph in script.paragraphs:
            assert " ".join(str(one) for one in paragraph.said) in printed


def test_no_page_of_a_steward_tells_the_variable_or_an_answer(app: Flask, at: Workplace) -> None:
    known = serving(at)
    steward = with_pass(app, at, known, Role.STEWARD)
    tray = waiting(at, known)
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k" * 16)
    for path in ("", "/trays", "/out", "/key"):
        html = steward.get(root(known) + path).html
        for word in TELLING:
            assert word not in html.replace("Guess if you must", "").replace(
                "I guessed", ""
            ).replace('value="guess"', ""), (path, word)


def test_a_card_of_another_evening_is_named_and_nothing_typed_is_lost(
    app: Flask, at: Workplace, organiser: Guest
) -> None:
    drawn = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    plan_comparison.add_sitting(at, ORGANISER, drawn.id, sitting_draft("Second evening"))
    one = seal_comparison.seal(at, ORGANISER, drawn.id)
    for sitting in one.sittings:
        open_sitting.open_sitting(at, ORGANISER, one.id, sitting.id)
    tray = open_sitting.board(at, ORGANISER, one.id, one.sittings[1].id).trays[0]
    card, code = card_number(tray.number), tray.codes()[0]
    page = key_in(with_pass(app, at, one, Role.STEWARD), one, card=card, **{"answer-odd": code})
    assert page.status == 422
    assert f"Card {card} belongs to “Second evening”" in page.text
    assert page.form("/key").values("answer-odd") == [code]
    page = key_in(organiser, one, card=card, **{"answer-odd": code})
    assert f"Card {card} is in." in page.text
    assert "It belongs to another sitting of this comparison" in page.text


def test_before_opening_the_steward_is_told_that_ballots_are_not_taken(
    app: Flask, at: Workplace
) -> None:
    known = sealed(at)
    steward = with_pass(app, at, known, Role.STEWARD)
    page = steward.get(root(known))
    assert "The sitting is not open yet" in page.text
    tray = trays(at, known)[0]
    page = key_in(steward, known, card=card_number(tray.number), **{"answer-odd": tray.codes()[0]})
    assert page.status == 409
    assert page.form("/key").values("answer-odd") == [tray.codes()[0]]
