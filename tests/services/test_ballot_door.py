"""The way of a ballot is short: every statement of it keeps all other ballots waiting."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import event

from panel.core.deeds import Deed
from panel.core.errors import RefusalsError
from panel.core.paper.payload import ref_of
from panel.services import take_ballot
from panel.services.workplace import Workplace
from panel.store import ballots, records, served_trays
from tests.builders import answers, serving, token, trays, workplace
from tests.store.test_shared_turn import until


@contextmanager
def statements(at: Workplace) -> Iterator[list[str]]:
    """What is asked of the database inside the block, transactions left out."""
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if statement.startswith(("SELECT", "INSERT", "UPDATE", "DELETE")):
            asked.append(" ".join(statement.split()))

    event.listen(at.units.engine, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        event.remove(at.units.engine, "before_cursor_execute", note)


def test_a_first_ballot_takes_eight_statements(database_url: str, tmp_path: Path) -> None:
    """Tray, cups, what is in, the record's end; ballot, answers, standing, line."""
    with workplace(database_url, tmp_path / "instance") as at:
        known = serving(at)
        tray = trays(at, known)[0]
        with statements(at) as asked:
            given = answers(known, tray)
            take_ballot.take_phone(at, ref_of(token(at, known, tray)), given, "k" * 16)
        own = [one for one in asked if "pg_advisory" not in one]
        kinds = [one.split()[0] for one in own]
        assert (kinds.count("SELECT"), kinds.count("INSERT"), kinds.count("UPDATE")) == (4, 3, 1)
        assert len(own) == 8


def test_what_a_ballot_is_checked_against_is_what_everybody_else_sees(
    database_url: str, tmp_path: Path
) -> None:
    """The short way and the long one read the same tray, sitting, plan and standing."""
    with workplace(database_url, tmp_path / "instance") as at:
        known = serving(at)
        for tray in trays(at, known):
            ref = ref_of(token(at, known, tray))
            with at.units.read() as session:
                served = served_trays.by_ref(session, ref)
                assert served is not None
                assert served.tray == tray
            assert (served.comparison, served.standing) == (known.id, known.standing)
            assert (served.plan, served.sitting) == (known.plan, known.sittings[0])
        with at.units.read() as session:
            assert served_trays.by_ref(session, "0" * 16) is None
            assert ballots.kept(session, known.id, 1) == ()


def test_phones_that_wait_together_are_told_each_its_own(database_url: str, tmp_path: Path) -> None:
    """One turn of the writer for a form sent twice, a tray's second form, a wrong code, another."""
    with workplace(database_url, tmp_path / "instance") as at:
        known = serving(at)
        first, second, third = trays(at, known)[:3]
        wrong = {**answers(known, second), "odd": ("000",)}
        forms = [
            (first, answers(known, first, 1), "a" * 32),
            (first, answers(known, first, 1), "a" * 32),
            (second, wrong, "b" * 32),
            (third, answers(known, third), "c" * 32),
            (first, answers(known, first, 2), "d" * 32),
        ]
        with ThreadPoolExecutor(len(forms)) as phones, at.units.begin():
            sent = []
            for place, (tray, given, key) in enumerate(forms):
                ref = ref_of(token(at, known, tray))
                sent.append(phones.submit(take_ballot.take_phone, at, ref, given, key))
                until(lambda wanted=place: len(at.units._turn._waiting) == wanted)
                until(lambda: at.units._turn._led)
        told = [one.exception() or one.result().revision for one in sent]
        assert isinstance(told[2], RefusalsError)
        assert [told[place] for place in (0, 1, 3, 4)] == [1, 1, 1, 2]
        with at.units.read() as session:
            assert [one.key for one in ballots.kept(session, known.id, first.number)] == [
                "a" * 32,
                "d" * 32,
            ]
            assert ballots.kept(session, known.id, second.number) == ()
            taken = records.subjects(session, known.id, Deed.BALLOT_TAKEN)
            assert taken == tuple(str(one.number) for one in (first, third, first))
            assert records.verify(session, known.id) is None
