"""Work that waits at the same moment shares one commit, and none fails for its neighbours' sake.

Everybody waits while another writer has the database, so that one turn takes all of them.
"""

import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event, select
from sqlalchemy.exc import OperationalError

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.store import records
from panel.store.session import Session, Units, make_engine
from panel.store.tables_record import MetaRow
from tests.store.values import NOON
from tests.structure.checkout import ROOT

MANY = 8


def at_once(units: Units, works: list[Callable[[Session], object]]) -> list[Future[object]]:
    """What came of each: all were there before the first could write."""
    with ThreadPoolExecutor(len(works)) as phones, units.begin():
        sent = [phones.submit(units.together, works[0])]
        until(lambda: units._turn._led)
        for place, work in enumerate(works[1:], start=1):  # in this order
            sent.append(phones.submit(units.together, work))
            until(lambda wanted=place: len(units._turn._waiting) == wanted)
    assert not units._turn._led
    assert not units._turn._waiting
    return sent


def until(there: Callable[[], bool]) -> None:
    waits = threading.Event()
    for _ in range(10_000):
        if there():
            return
        waits.wait(0.001)
    raise AssertionError("it never came")


@contextmanager
def commits(units: Units) -> Iterator[list[object]]:
    """The commits inside the block."""
    made: list[object] = []

    def note(connection: object) -> None:
        made.append(connection)

    event.listen(units.engine, "commit", note)
    try:
        yield made
    finally:
        event.remove(units.engine, "commit", note)


def notes(name: str) -> Callable[[Session], str]:
    """Work that keeps a fact; twice the same name clashes in the database."""

    def work(session: Session) -> str:
        session.connection().execute(MetaRow.__table__.insert(), {"name": name, "value": name})
        return f"{name} kept"

    return work


def refused(session: Session) -> None:
    """Work that writes before it is refused, as none of ours does."""
    notes("half")(session)
    raise PanelError("no", say("Another time."), Fault.STANDING)


def kept(units: Units) -> set[str]:
    with units.read() as session:
        return set(session.scalars(select(MetaRow.name)))


def test_all_that_wait_share_one_commit(units):
    with commits(units) as made:
        sent = at_once(units, [notes(f"n{one}") for one in range(MANY)])
    assert [one.result() for one in sent] == [f"n{one} kept" for one in range(MANY)]
    assert len(made) == 2  # theirs, and that of the writer before them
    assert kept(units) == {f"n{one}" for one in range(MANY)}


@pytest.mark.parametrize("wrong", [refused, notes("n0")], ids=["refused", "clashes"])
def test_one_that_fails_fails_alone(units, wrong):
    """Refused by a rule, or by the database: its neighbours are kept, of its own nothing is."""
    works = [notes("n0"), notes("n1"), wrong, notes("n2")]
    sent = at_once(units, works)
    with pytest.raises(PanelError) as told:
        sent[2].result()
    assert told.value.code == ("no" if wrong is refused else "clash")
    assert [sent[place].result() for place in (0, 1, 3)] == ["n0 kept", "n1 kept", "n2 kept"]
    assert kept(units) == {"n0", "n1", "n2"}


def test_one_alone_is_done_once(units):
    done = []

    def work(session: Session) -> None:
        done.append(session)
        refused(session)

    with pytest.raises(PanelError, match="Another time"):
        units.together(work)
    assert len(done) == 1
    assert kept(units) == set()
    assert units.together(notes("n0")) == "n0 kept"


def test_where_the_commit_fails_all_of_it_failed(units):
    def breaks(_connection: object) -> None:
        if armed.is_set():
            raise OperationalError("COMMIT", None, OSError("the disk has gone"))

    armed = threading.Event()

    def arming(session: Session) -> str:
        armed.set()
        return notes("n0")(session)

    event.listen(units.engine, "commit", breaks)
    sent = at_once(units, [arming, notes("n1"), notes("n2")])
    event.remove(units.engine, "commit", breaks)
    for one in sent:
        with pytest.raises(PanelError, match="nothing was saved"):
            one.result()
    assert kept(units) == set()
    assert units.together(notes("n0")) == "n0 kept"


def test_where_nothing_can_begin_each_is_told_and_nobody_waits(units):
    """A database that has gone: leaders follow each other, and none has done a neighbour's work."""

    def gone(_connection: object) -> None:
        raise OperationalError("BEGIN", None, OSError("the disk has gone"))

    done: list[Session] = []
    with ThreadPoolExecutor(MANY) as phones, units.begin():
        sent = [phones.submit(units.together, done.append) for _ in range(MANY)]
        until(lambda: units._turn._led and len(units._turn._waiting) == MANY - 1)
        event.listen(units.engine, "begin", gone)
    event.remove(units.engine, "begin", gone)
    for one in sent:
        with pytest.raises(PanelError, match="nothing was saved"):
            one.result(timeout=30)
    assert done == []
    assert not units._turn._led
    assert units.together(notes("n0")) == "n0 kept"


def test_an_interrupted_leader_fails_all_and_the_next_one_leads(units):
    def interrupted(session: Session) -> None:
        notes("n1")(session)
        raise KeyboardInterrupt

    sent = at_once(units, [notes("n0"), interrupted])
    assert [type(one.exception()) for one in sent] == [KeyboardInterrupt] * 2
    assert kept(units) == set()
    assert units.together(notes("n0")) == "n0 kept"


def line(place: int) -> Callable[[Session], int]:
    """Work that appends to a chain; its place there."""

    def work(session: Session) -> int:
        told = records.append(
            session, "chain0000001", NOON, role="taster", who="n", what=Deed.BALLOT_TAKEN,
            subject=str(place),
        )  # fmt: skip
        return told.sequence

    return work


def test_lines_of_the_record_follow_each_other_as_they_were_written(units):
    def spoilt(session: Session) -> None:
        line(99)(session)
        refused(session)

    sent = at_once(units, [line(1), line(2), spoilt, line(3)])
    assert [sent[place].result() for place in (0, 1, 3)] == [1, 2, 3]
    with units.read() as session:
        assert records.verify(session, "chain0000001") is None
        assert [one.subject for one in records.of_chain(session, "chain0000001")] == list("123")


def test_the_end_of_a_chain_is_asked_for_once_a_turn(units, statements):
    with statements() as asked:
        sent = at_once(units, [line(1), line(2), line(3)])
    assert [one.result() for one in sent] == [1, 2, 3]
    assert [one.split()[0] for one in asked if "record" in one] == ["SELECT"] + ["INSERT"] * 3


def test_each_reads_what_the_one_before_it_wrote(units):
    """Rows that a neighbour has loaded are not taken for what is there now."""

    def look(session: Session) -> str:
        row = session.scalars(select(MetaRow).where(MetaRow.name == "n0")).one()
        return row.value

    def change(session: Session) -> None:
        session.connection().execute(MetaRow.__table__.update().values(value="changed"))

    units.together(notes("n0"))
    sent = at_once(units, [look, change, look])
    assert [one.result() for one in sent] == ["n0", None, "changed"]


def test_inside_a_transaction_it_is_a_mistake(units):
    with pytest.raises(RuntimeError, match="open already"), units.begin():
        units.together(notes("n0"))
    with pytest.raises(RuntimeError, match="open already"):
        units.together(lambda _session: units.together(notes("n0")))
    assert kept(units) == set()


def test_many_over_and_over_lose_nothing(units):
    """Every fifth is refused; leaders follow each other as they come."""

    def one(place: int) -> str:
        work = refused if place % 5 == 0 else notes(f"n{place}")
        try:
            return str(units.together(work))
        except PanelError as refusal:
            return refusal.code

    with ThreadPoolExecutor(MANY) as phones:
        told = list(phones.map(one, range(120)))
    assert told == ["no" if place % 5 == 0 else f"n{place} kept" for place in range(120)]
    assert kept(units) == {f"n{place}" for place in range(120) if place % 5}


DIES = """
import os, sys, threading
from sqlalchemy import event
from panel.store.session import Units, make_engine
from tests.store.test_shared_turn import notes, until

units = Units(make_engine(sys.argv[1]))
with units.begin():
    for place in range(4):
        told = lambda place=place: (units.together(notes(f"n{place}")), os.write(1, b"saved\\n"))
        threading.Thread(target=told).start()
    until(lambda: units._turn._led and len(units._turn._waiting) == 3)
event.listen(units.engine, "commit", lambda _connection: os._exit(9))
threading.Event().wait(30)
"""


def test_killed_before_the_commit_nobody_was_told(sqlite_units, sqlite_url, tmp_path: Path):
    """The process dies when all is written and nothing is durable."""
    program = tmp_path / "dies.py"
    program.write_text(DIES, encoding="utf-8")
    variables = {**os.environ, "PYTHONPATH": str(ROOT)}
    died = subprocess.run(
        [sys.executable, program, sqlite_url], env=variables, stdout=subprocess.PIPE, check=False
    )
    assert (died.returncode, died.stdout) == (9, b"")
    assert kept(sqlite_units) == set()
    opened = Units(make_engine(sqlite_url))
    assert opened.together(notes("n0")) == "n0 kept"
    opened.close()
