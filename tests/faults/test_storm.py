"""Twenty-five kills of the real service under load: nothing acknowledged is lost, twice or other.

The invariants are common practice of crash tests (acknowledged must survive, unknown may); the
number is for a suite, more are run by hand: `python -m tests.bench.storm`.
"""

import os
import sqlite3
from pathlib import Path

import pytest

from tests.faults.phones import Ledger, Sent, State
from tests.faults.storm import doors_open, storm, wrong_with

KILLS = 25


@pytest.mark.skipif(os.name == "nt", reason="written for SIGKILL")
def test_twenty_five_kills(tmp_path: Path) -> None:
    seen = storm(tmp_path, KILLS, "a night in the pub")
    assert seen.wrong == []
    assert seen.kills == KILLS
    # The storm was one: ballots of both kinds were kept, connections cut, forms sent twice.
    assert seen.forms[State.ACKNOWLEDGED] > 100
    assert seen.cuts > 10
    assert seen.repeats > 5
    assert set(seen.by_channel) == {"phone", "keyed"}
    assert seen.kept >= seen.forms[State.ACKNOWLEDGED]


# --- the checker sees what it is for -------------------------------------------------------------


@pytest.fixture
def told(tmp_path: Path) -> tuple[Path, str, Ledger]:
    """A database with two kept ballots, and the ledger of who sent them."""
    known, _senders = doors_open(tmp_path)
    ledger = Ledger()
    with sqlite3.connect(tmp_path / "panel.db") as connection:
        for tray in (1, 2):
            key = f"key of tray number {tray}"
            connection.execute(
                "INSERT INTO ballot VALUES (?, ?, 1, 'phone', '2027-03-14 19:00:00', 0, ?, NULL)",
                (known.id, tray, key),
            )
            connection.execute(
                "INSERT INTO answer VALUES (?, ?, 1, 'knew', '[\"nothing\"]')", (known.id, tray)
            )
            ledger.forms.append(Sent(tray, key, {"knew": ("nothing",)}, State.ACKNOWLEDGED))
    connection.close()
    return tmp_path, known.id, ledger


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("DELETE FROM answer WHERE tray = 1", "is not what was sent"),
        ("UPDATE answer SET words = '[\"helped\"]' WHERE tray = 2", "is not what was sent"),
        ("UPDATE ballot SET idempotency_key = 'another' WHERE tray = 1", "acknowledged, and not"),
        ("UPDATE ballot SET idempotency_key = 'another' WHERE tray = 1", "never sent"),
        ("UPDATE ballot SET tray = 99 WHERE tray = 1", "rows that are missing"),
        ("SELECT 1", "0 lines in the record for 2 ballots"),
        ("DROP TRIGGER record_kept; UPDATE record SET who = 'x' WHERE sequence = 2", "breaks at 2"),
    ],
)
def test_what_is_wrong_is_seen(told: tuple[Path, str, Ledger], statement: str, words: str) -> None:
    folder, known, ledger = told
    connection = sqlite3.connect(folder / "panel.db")
    connection.executescript(statement)
    connection.close()
    assert [one for one in wrong_with(folder, known, [ledger]) if words in one] != []
