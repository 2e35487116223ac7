"""Twenty-five kills of the real service under load: nothing acknowledged is lost, twice or other.

The invariants are common practice of crash tests (acknowledged must survive, unknown may); the
number is for a suite, more are run by hand: `python -m tests.bench.storm`.
"""

import os
import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from panel import settings as settings_room
from panel.core.comparison import Comparison
from panel.services import take_ballot
from panel.services.read_cards import read_cards
from panel.services.workplace import open_workplace
from tests.builders import ORGANISER, answers
from tests.faults import judge
from tests.faults.backups import Backups
from tests.faults.evening import Cast, Doors, doors_open
from tests.faults.phones import Answered, Laptop, Ledger, Sent, State
from tests.faults.storm import InFile, storm

KILLS = 25


@pytest.mark.skipif(os.name == "nt", reason="written for SIGKILL")
def test_twenty_five_kills(tmp_path: Path) -> None:
    backups = Backups(3, random.Random("three of them"))
    seen = storm(tmp_path, KILLS, "a night in the pub", during=backups)
    assert seen.wrong == []
    assert seen.kills == KILLS
    # The storm was one: ballots of every kind were kept, connections cut, forms sent twice,
    # receipts looked at, and pages asked before closing.
    assert seen.forms[State.ACKNOWLEDGED] > 100
    assert seen.cuts > 10
    assert seen.repeats > 5
    assert seen.receipts > 10
    assert set(seen.by_channel) == {"phone", "keyed", "scanned"}
    assert seen.kept >= seen.forms[State.ACKNOWLEDGED]
    assert seen.pages.total() == KILLS
    assert seen.backups == 3


# --- the checker sees what it is for -------------------------------------------------------------


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Doors, Ledger]:
    """An evening with two ballots by phone and a photographed sheet of four, and its ledger."""
    folder = tmp_path_factory.mktemp("storm") / "doors"
    folder.mkdir()
    doors = doors_open(folder, Cast(phones=3, laptops=1, keyed=1, sheets=1))
    known, ledger = doors.known, Ledger()
    at = open_workplace(settings_room.load({}, folder))
    with closing(at.units):
        for tray, ref, _proof in doors.phones[:2]:
            given = {**answers(known, tray, 1), "words": ("rather malty",)}
            key = f"key of tray number {tray.number}"
            receipt = take_ballot.take_phone(at, ref, given, key)
            ledger.forms.append(Sent(tray.number, key, given, receipt=receipt.code))
        picture = doors.pictures[0]
        list(read_cards(at, ORGANISER, known.id, picture.data))
        ledger.forms.append(Sent(0, picture.digest, {}))
    for form in ledger.forms:
        form.is_in()
    return folder, doors, ledger


def found(folder: Path, doors: Doors, ledger: Ledger) -> list[str]:
    with InFile().looked_at(folder) as session:
        wrong = judge.damaged(session)
        return wrong + judge.wrong_with(session, doors.known.id, [ledger], doors.pictures)


def test_nothing_is_wrong_where_nothing_is(served: tuple[Path, Doors, Ledger]) -> None:
    assert found(*served) == []


TAMPERED = [
    ("DELETE FROM answer WHERE tray = :phone AND question = 'odd'", "is not what was sent"),
    ("UPDATE answer SET words = '[\"helped\"]' WHERE tray = :phone", "is not what was sent"),
    ("UPDATE ballot SET idempotency_key = 'x' WHERE tray = :phone", "acknowledged, and not there"),
    ("UPDATE ballot SET idempotency_key = 'x' WHERE tray = :phone", "x was never sent"),
    ("UPDATE ballot SET tray = 999 WHERE tray = :phone", "rows that are missing"),
    ("UPDATE ballot SET tray = 999 WHERE tray = :phone", "answers without a ballot"),
    ("UPDATE ballot SET revision = 2 WHERE tray = :phone", "the receipt said"),
    ("UPDATE ballot SET revision = 2 WHERE tray = :phone", "6 lines in the record for 6 ballots"),
    ("UPDATE ballot SET counted = 1 WHERE tray = :phone", "counts before closing"),
    ("DELETE FROM ballot WHERE tray = :phone", "6 lines in the record for 5 ballots"),
    ("DELETE FROM ballot WHERE tray = :phone", "stand otherwise than their ballots"),
    ("UPDATE comparison SET standing = 'closed'", "the comparison stands at closed"),
    ("DELETE FROM reading WHERE tray = :scanned", "their picture was acknowledged"),
    ("DELETE FROM reading WHERE tray = :scanned", "for scanned ballots"),
    ("UPDATE answer SET words = '[\"x\"]' WHERE tray = :scanned", "its picture says"),
    ("UPDATE ballot SET idempotency_key = NULL WHERE tray = :phone", "that nobody photographed"),
    ("UPDATE record SET who = 'x' WHERE sequence = 2", "breaks at 2"),
]


@pytest.mark.parametrize(("statement", "words"), TAMPERED)
def test_what_is_wrong_is_seen(
    served: tuple[Path, Doors, Ledger], tmp_path: Path, statement: str, words: str
) -> None:
    folder, doors, ledger = served
    evening = tmp_path / "evening"
    InFile().begin(folder, evening)
    trays = {"phone": doors.phones[0][0].number, "scanned": min(doors.pictures[0].cards)}
    with closing(sqlite3.connect(evening / "panel.db")) as connection:
        connection.execute("DROP TRIGGER record_kept")
        connection.execute(statement, {name: trays[name] for name in trays if name in statement})
        connection.commit()
    assert [one for one in found(evening, doors, ledger) if words in one] != []


def test_a_form_that_counts_again_is_seen() -> None:
    """A keyed card has no receipt of its own; that it was in already is what its keyer is told."""
    laptop = Laptop(Comparison.__new__(Comparison), (), "laptop")
    form = Sent(17, "key", {})
    for copy in ("first", "revision"):
        answered = Answered(302, f"/steward/a/b/key?done=17&copy={copy}", "", "")
        heard = laptop.heard(form, answered)
        with pytest.raises(StopIteration, match="True"):  # it waits for nothing
            heard.send(None)
    assert ["counts again" in word for word in laptop.ledger.wrong] == [True]
