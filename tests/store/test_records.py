"""The record: a chain in which any changed bit, missing, moved or added line is found."""

import itertools

import pytest
from sqlalchemy import text

from panel.core.deeds import Deed
from panel.core.record import BEGINNING
from panel.store import records
from panel.store.session import Units
from tests.store.values import NOON

COLUMNS = ("chain", "at", "role", "who", "what", "subject", "detail", "previous", "hash")
LINES = 6


@pytest.fixture
def chain(units: Units) -> Units:
    """Six lines of one chain and two of another, whose triggers somebody took away."""
    with units.begin() as session:
        for turn in range(LINES):
            append(session, "comparison01", turn)
        append(session, "instance", 0)
        append(session, "instance", 1)
        session.execute(
            text(
                "DROP TRIGGER record_kept"
                + (" ON record" if units.engine.dialect.name == "postgresql" else "")
            )
        )
        if units.engine.dialect.name == "sqlite":
            session.execute(text("DROP TRIGGER record_stays"))
    return units


def append(session, chain, turn):
    return records.append(
        session,
        chain,
        NOON,
        role="steward",
        who="person000001",
        what=Deed.HANDED_OUT,
        subject=str(turn + 1),
        detail={"revision": turn, "late": False},
    )


def broken(units: Units, name: str = "comparison01") -> int | None:
    with units.read() as session:
        return records.verify(session, name)


def test_a_chain_as_it_was_written_is_whole(chain):
    assert broken(chain) is None
    assert broken(chain, "instance") is None
    assert broken(chain, "nothing") is None
    with chain.read() as session:
        lines = list(records.of_chain(session, "comparison01"))
        assert records.chains(session) == ("comparison01", "instance")
        assert records.last(session, "comparison01") == lines[-1]
        assert records.last(session, "nothing") is None
    assert [line.sequence for line in lines] == list(range(1, LINES + 1))
    assert lines[0].previous == BEGINNING
    assert [line.previous for line in lines[1:]] == [line.hash for line in lines[:-1]]
    assert lines[0].at == "2027-03-14T12:00:00.123456+00:00"
    assert lines[0].detail == '{"late":false,"revision":0}'


def test_every_changed_bit_of_every_column_is_found(chain):
    """Seven bits a character: the eighth would not be text any more."""
    column = itertools.cycle(COLUMNS)
    with chain.begin() as session:
        whole = session.execute(text("SELECT * FROM record WHERE sequence = 3")).mappings().first()
        for name, bit in zip(column, range(7 * len(COLUMNS)), strict=False):
            word = whole[name]
            place = bit % max(len(word), 1)
            letter = chr(ord(word[place]) ^ (1 << bit % 7))
            if letter == "\0":  # no text of PostgreSQL holds it
                continue
            change(session, name, word[:place] + letter + word[place + 1 :])
            assert records.verify(session, "comparison01") == 3, (name, place, bit)
            change(session, name, word)
            assert records.verify(session, "comparison01") is None


def change(session, name, word):
    """One column of line 3, found by its place beside the untouched lines."""
    session.execute(
        text(f"UPDATE record SET {name} = :word WHERE sequence = 3 AND chain <> 'instance'"),
        {"word": word},
    )


@pytest.mark.parametrize(
    ("statement", "place"),
    [
        ("DELETE FROM record WHERE sequence = 1", 1),
        ("DELETE FROM record WHERE sequence = 4", 4),
        ("UPDATE record SET sequence = 99 WHERE sequence = 2", 2),
        ("UPDATE record SET sequence = sequence + 100", 1),
        ("UPDATE record SET detail = '{}', hash = previous WHERE sequence = 6", 6),
    ],
    ids=["first gone", "one gone", "one moved to the end", "all moved", "last rewritten"],
)
def test_lines_gone_moved_or_rewritten_are_found(chain, statement, place):
    with chain.begin() as session:
        session.execute(text(statement))
    assert broken(chain) == place


def test_a_long_chain_is_read_in_portions(units, monkeypatch):
    monkeypatch.setattr(records, "PORTION", 4)
    with units.begin() as session:
        for turn in range(10):
            append(session, "comparison01", turn)
    with units.read() as session:
        subjects = [line.subject for line in records.of_chain(session, "comparison01")]
        assert subjects == [str(turn) for turn in range(1, 11)]
        assert records.verify(session, "comparison01") is None


def test_a_line_of_another_chain_does_not_fit(chain):
    with chain.begin() as session:
        session.execute(text("DELETE FROM record WHERE chain = 'comparison01' AND sequence = 1"))
        session.execute(
            text(
                "UPDATE record SET chain = 'comparison01' WHERE chain = 'instance' AND sequence = 1"
            )
        )
    assert broken(chain) == 1


def test_the_trigger_alone_keeps_lines_in_place(units):
    with units.begin() as session:
        append(session, "comparison01", 0)
    for statement in ("UPDATE record SET who = 'x'", "DELETE FROM record"):
        with pytest.raises(Exception, match="same moment"), units.begin() as session:
            session.execute(text(statement))
    assert broken(units) is None


@pytest.mark.parametrize(
    "wrong",
    [
        {"who": "Ada Brewer"},
        {"subject": "the tall one by the bar"},
        {"detail": {"note": "he saw the label"}},
        {"detail": {"a name": 1}},
        {"detail": {"note": "a\nb"}},
        {"role": ""},
    ],
)
def test_names_and_free_words_are_refused(sqlite_units, wrong):
    facts = {"role": "organiser", "who": "person000001", "what": Deed.SEALED, **wrong}
    if wrong == {"role": ""}:
        facts["who"] = "two words"
    with pytest.raises(ValueError, match="ids and numbers"), sqlite_units.begin() as session:
        records.append(session, "comparison01", NOON, **facts)
    with sqlite_units.read() as session:
        assert records.last(session, "comparison01") is None
