"""Ballots from a spreadsheet: the checks of the one door, by row and column, all or nothing."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.errors import PanelError, RefusalsError
from panel.core.names import CardStanding, Channel, Role
from panel.core.paper.payload import ref_of
from panel.core.reconcile import Copy
from panel.services import enter_ballots, take_ballot
from panel.services.ballot_door import questions_of
from panel.services.workplace import Actor, Workplace
from panel.store import ballots
from tests.builders import ORGANISER, answers, serving, token, trays, workplace


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as place:
        yield place


@pytest.fixture
def known(at: Workplace) -> Comparison:
    return serving(at)


def rows(at: Workplace, known: Comparison, count: int = 3, between: str = ",") -> list[str]:
    """Names, and a row for each of the first trays: the second cup, knew nothing."""
    lines = [between.join(("card", "odd", "knew"))]
    for tray in trays(at, known)[:count]:
        lines.append(between.join((card_number(tray.number), tray.codes()[1], "nothing")))
    return lines


def enter(at: Workplace, known: Comparison, lines: list[str], encoding: str = "utf-8"):
    data = "\n".join(lines).encode(encoding)
    return enter_ballots.enter_ballots(at, ORGANISER, known.id, data).receipts


def kept(at: Workplace, known: Comparison, place: int):
    with at.units.read() as session:
        return ballots.revisions(session, known.id, trays(at, known)[place].number)


@pytest.mark.parametrize(("between", "encoding"), [(",", "utf-8"), (";", "utf-8-sig")])
def test_every_row_becomes_a_ballot(at, known, between, encoding):
    receipts = enter(at, known, rows(at, known, between=between), encoding)
    assert [one.copy for one in receipts] == [Copy.FIRST] * 3
    for place in range(3):
        (ballot,) = kept(at, known, place)
        assert ballot.channel is Channel.IMPORTED
        assert ballot.answers["odd"] == (trays(at, known)[place].codes()[1],)
        assert ballot.answers["knew"] == ("nothing",)
        assert trays(at, known)[place].standing is CardStanding.RETURNED


def test_the_same_file_again_changes_nothing(at, known):
    enter(at, known, rows(at, known))
    receipts = enter(at, known, rows(at, known))
    assert [one.copy for one in receipts] == [Copy.SAME] * 3
    assert len(kept(at, known, 0)) == 1


def test_what_differs_from_the_phone_is_in_question(at, known):
    tray = trays(at, known)[0]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k")
    assert enter(at, known, rows(at, known, 1))[0].copy is Copy.QUESTION
    assert trays(at, known)[0].standing is CardStanding.IN_QUESTION


def test_one_wrong_row_is_named_and_nothing_of_the_file_is_taken(at, known):
    lines = rows(at, known)
    first = trays(at, known)[0]
    lines.append(f"{card_number(first.number)},{first.codes()[0]},nothing")  # row 5: again
    lines[2] = lines[2].replace(trays(at, known)[1].codes()[1], "000")  # row 3: no such code
    lines.append("17 Z,111,nothing")  # row 6: not its letter
    with pytest.raises(RefusalsError) as refused:
        enter(at, known, lines)
    assert [one.field for one in refused.value.refusals] == ["3 odd", "5 card", "6 card"]
    assert str(refused.value.refusals[0].message).startswith("Row 3, column odd: ")
    assert "row 2 already" in str(refused.value.refusals[1].message)
    assert kept(at, known, 0) == ()
    assert trays(at, known)[0].standing is CardStanding.PRINTED


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "no-rows"),
        (b"card,odd\n", "no-rows"),
        (b"\xff\xfe\x00", "not-utf-8"),
        (b"card,odd\n1 B,482,x\n", "cells"),
        (b"card,beer\n1 B,482\n", "columns"),
        (b"odd,knew\n482,nothing\n", "columns"),
        (b"card,odd,odd\n1 B,482,482\n", "column-twice"),
        (b'card,odd\n1 B,"482\n', "not-csv"),
        (b"x" * 1_000_001, "file-too-large"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(at, known, data, code):
    with pytest.raises(PanelError) as refused:
        enter_ballots.enter_ballots(at, ORGANISER, known.id, data)
    assert refused.value.code == code
    assert kept(at, known, 0) == ()


def test_the_empty_sheet_has_every_card_and_is_taken_when_it_is_filled_in(at, known):
    """It begins with the mark of UTF-8, and rows that stay empty are passed over."""
    sitting = known.sittings[0].id
    sheet = enter_ballots.empty_sheet_of(at, ORGANISER, known.id, (sitting,))
    lines = sheet.decode("utf-8-sig").split("\r\n")
    assert sheet.startswith(b"\xef\xbb\xbf")
    assert lines[0] == "card,knew,odd,sure,words"
    assert lines[1:-1] == [f"{card_number(tray.number)},,,," for tray in trays(at, known)]
    lines[2] = lines[2].replace(",,", f",nothing,{trays(at, known)[1].codes()[0]}", 1)
    entered = enter_ballots.enter_ballots(at, ORGANISER, known.id, "\n".join(lines).encode())
    assert len(entered.receipts) == 1
    assert entered.without_answers == len(trays(at, known)) - 1
    assert kept(at, known, 1)[0].answers["knew"] == ("nothing",)


def test_a_steward_has_the_cards_of_their_own_sitting_alone(at, known):
    other = serving(at)
    steward = Actor(Role.STEWARD, "pass00000001", known.id, known.sittings[0].id)
    assert enter_ballots.empty_sheet_of(at, steward, known.id, (known.sittings[0].id,))
    with pytest.raises(PanelError):
        enter_ballots.empty_sheet_of(at, steward, other.id, (other.sittings[0].id,))


@pytest.mark.parametrize("between", [" ", "/", ";", "+", ", "])
def test_two_codes_may_stand_with_any_mark_between(at, between):
    known = serving(at, "tetrad")
    tray = trays(at, known)[0]
    two = between.join(tray.codes()[:2])
    lines = ["card\todd\tknew", f"{card_number(tray.number)}\t{two}\tnothing"]
    lines[0] = lines[0].replace("odd", questions_of(known.plan)[1].id)
    (receipt,) = enter(at, known, lines)
    assert receipt.copy is Copy.FIRST


def test_a_formula_in_free_words_is_words(at, known):
    tray = trays(at, known)[0]
    line = f"{card_number(tray.number)},{tray.codes()[0]},=1+1"
    enter(at, known, ["card,odd,words", line])
    assert kept(at, known, 0)[0].answers["words"] == ("=1+1",)
    with pytest.raises(RefusalsError, match="Row 2, column odd"):
        enter(at, known, ["card,odd", f"{card_number(tray.number)},=482"])


def test_words_on_several_lines_of_a_cell_stay_apart(at, known):
    """As spreadsheets write them: within quotation marks, over as many lines."""
    tray = trays(at, known)[0]
    line = f'{card_number(tray.number)},{tray.codes()[1]},"dry\nbitter"'
    enter(at, known, ["card,odd,words", line])
    assert kept(at, known, 0)[0].answers["words"] == ("dry\nbitter",)
