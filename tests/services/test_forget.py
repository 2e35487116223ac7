"""Erasing: gone from the whole database, and nothing else with it."""

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from panel.catalogue import speaker
from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.names import Reason, Role
from panel.core.record import INSTANCE
from panel.publishing.check import check_bundle
from panel.services import (
    close_and_unseal,
    forget,
    open_sitting,
    publish,
    settle_ballots,
    show_result,
    sign_in,
    take_ballot,
    tally,
)
from panel.services.daily import every_day
from panel.services.workplace import Actor, Workplace
from panel.store import ballots, readings, records
from panel.store.plain_rows import rows_of
from tests.builders import ORGANISER, Clock, answers, serving, trays, workplace
from tests.readings import waiting_reading

NAMES = ("Quillfeather", "Marrowbone", "Tanglewood")
"""Nickname, in a note, in free words."""

PASSWORD = "heron lantern gravel spoon"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def at(database_url: str, tmp_path: Path, clock: Clock) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance", clock=clock) as opened:
        yield opened


@pytest.fixture
def known(at: Workplace) -> Comparison:
    """A comparison that is being served; tray 1 has all that names somebody, tray 3 words."""
    found = serving(at)
    by_number = {tray.number: tray for tray in trays(at, found)}
    for number, words in ((1, "Tanglewood"), (2, ""), (3, "Tanglewood too")):
        given = answers(found, by_number[number])
        given = {**given, "words": (words,)} if words else given
        card = card_number(number)
        take_ballot.take_keyed(at, ORGANISER, found.id, card, given, f"{number:016}")
    open_sitting.name_taster(at, ORGANISER, found.id, 1, "Quillfeather")
    open_sitting.set_aside(at, ORGANISER, found.id, 4, Reason.OTHER, "Marrowbone went home")
    return found


def published(at: Workplace, known: Comparison) -> None:
    for sitting in known.sittings:
        open_sitting.close_sitting(at, ORGANISER, known.id, sitting.id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    publish.publish(at, ORGANISER, known.id)


def held(at: Workplace) -> str:
    """Every row, and for SQLite every byte on the disk."""
    with at.units.read() as session:
        rows = repr(list(rows_of(session.connection())))
        file = at.units.engine.url.database if session.get_bind().dialect.name == "sqlite" else None
    if file is None:
        return rows
    beside = Path(file).parent.glob(f"{Path(file).name}*")
    return rows + "".join(path.read_bytes().decode("latin-1") for path in beside)


def chains(at: Workplace) -> list[int | None]:
    with at.units.read() as session:
        return [records.verify(session, chain) for chain in records.chains(session)]


def test_all_that_names_somebody_is_there_before(at: Workplace, known: Comparison) -> None:
    assert [name for name in NAMES if name not in held(at)] == []


def test_a_comparison_is_erased_and_its_counts_stay(at: Workplace, known: Comparison) -> None:
    published(at, known)
    before = tally.findings(at, ORGANISER, known.id).result
    assert forget.forget_tasters(at, ORGANISER, known.id) == forget.Erased(trays=2, words=2)
    assert [name for name in NAMES if name in held(at)] == []
    assert tally.findings(at, ORGANISER, known.id).result == before
    assert chains(at) == [None]
    with at.units.read() as session:
        kept = ballots.every_revision(session, known.id)
        line = records.last(session, known.id)
    assert [(one.tray, sorted(one.answers)) for one in kept] == [
        (number, ["knew", "odd", "sure"]) for number in (1, 2, 3)
    ]
    assert line is not None
    assert (line.what, line.who, line.detail) == (
        Deed.FORGOTTEN, ORGANISER.person, '{"pictures":0,"trays":2,"words":2}',
    )  # fmt: skip


def pictures(at: Workplace, known: Comparison, numbers: list[int]) -> list[bytes | None]:
    with at.units.read() as session:
        found = [readings.load(session, known.id, number) for number in numbers]
    return [None if one is None else one.read.picture for one in found]


def test_pictures_of_cards_go_of_one_card_or_of_all_and_what_was_read_stays(
    at: Workplace, known: Comparison
) -> None:
    """A hand can be known by its writing: not a byte of the picture is left in the database."""
    three = trays(at, known)[:3]
    numbers = [waiting_reading(at, known, tray) for tray in three]
    (picture, *_) = pictures(at, known, numbers)
    assert picture is not None
    with at.units.read() as session:
        before = readings.of_trays(session, known.id, [tray.number for tray in three])
    erased = forget.forget_tasters(at, ORGANISER, known.id, card_number(three[0].number))
    assert erased.pictures == 1
    assert [one is None for one in pictures(at, known, numbers)] == [True, False, False]
    assert forget.forget_tasters(at, ORGANISER, known.id).pictures == 2
    assert pictures(at, known, numbers) == [None] * 3
    assert picture.decode("latin-1") not in held(at)
    assert repr(picture) not in held(at)
    with at.units.read() as session:
        assert readings.of_trays(session, known.id, [tray.number for tray in three]) == before
    assert chains(at) == [None]


def test_what_is_published_still_holds_when_names_are_gone(
    at: Workplace, known: Comparison
) -> None:
    published(at, known)
    forget.forget_tasters(at, ORGANISER, known.id)
    lines = check_bundle(show_result.bundle(at, ORGANISER, known.id), speaker=speaker)
    assert [str(line.message) for line in lines if not line.holds] == []


def test_one_card_is_erased_and_the_others_stay(at: Workplace, known: Comparison) -> None:
    erased = forget.forget_tasters(at, ORGANISER, known.id, card_number(1))
    assert erased == forget.Erased(trays=1, words=1)
    words = held(at)
    assert "Quillfeather" not in words
    assert "Marrowbone went home" in words
    assert "Tanglewood too" in words
    with at.units.read() as session:
        line = records.last(session, known.id)
    assert line is not None
    assert line.subject == ""  # whose card it was is not for the record


def test_erasing_twice_writes_nothing_more(at: Workplace, known: Comparison) -> None:
    forget.forget_tasters(at, ORGANISER, known.id)
    with at.units.read() as session:
        last = records.last(session, known.id)
    assert forget.forget_tasters(at, ORGANISER, known.id) == forget.Erased(0, 0)
    with at.units.read() as session:
        assert records.last(session, known.id) == last


def test_only_an_organiser_erases_and_only_what_is_there(at: Workplace, known: Comparison) -> None:
    steward = Actor(Role.STEWARD, "invitation01", known.id, known.sittings[0].id)
    with pytest.raises(PanelError) as refusal:
        forget.forget_tasters(at, steward, known.id)
    assert refusal.value.fault is Fault.FORBIDDEN
    for comparison, card in (("nothing", ""), (known.id, card_number(99))):
        with pytest.raises(PanelError) as refusal:
            forget.forget_tasters(at, ORGANISER, comparison, card)
        assert refusal.value.fault is Fault.MISSING
    assert [name for name in NAMES if name not in held(at)] == []


# --- an account ----------------------------------------------------------------------------------


def account(at: Workplace, name: str) -> str:
    """The sign-in token of a new organiser."""
    return sign_in.set_up(at, sign_in.set_up_link(at), name, PASSWORD)


def test_an_account_is_erased_and_its_records_stay(at: Workplace) -> None:
    account(at, "Robin")
    token = account(at, "Quillfeather")
    person = forget.forget_account(at, ORGANISER, "quillfeather")
    assert "quillfeather" not in held(at).casefold()
    assert sign_in.person_of(at, token) is None
    with pytest.raises(PanelError):
        sign_in.sign_in(at, "Quillfeather", PASSWORD)
    with at.units.read() as session:
        told = [line for line in records.of_chain(session, INSTANCE) if person in repr(line)]
        line = records.last(session, INSTANCE)
    assert len(told) >= 2
    assert chains(at) == [None]
    assert line is not None
    account(at, "Quillfeather")  # the name is free again


def test_the_last_organiser_stays(at: Workplace) -> None:
    token = account(at, "Robin")
    with pytest.raises(PanelError, match="only organiser") as refusal:
        forget.forget_account(at, ORGANISER, "Robin")
    assert refusal.value.fault is Fault.STANDING
    assert sign_in.person_of(at, token) is not None


def test_an_account_that_is_not_there(at: Workplace) -> None:
    with pytest.raises(PanelError, match="Nobody here signs in as “Marrowbone”"):
        forget.forget_account(at, ORGANISER, "Marrowbone")


# --- the days after publication ------------------------------------------------------------------


def test_names_go_when_their_days_are_over(at: Workplace, known: Comparison, clock: Clock) -> None:
    clock.forward(days=400)
    assert forget.erase_due(at) == ()  # not published: the evening still needs them
    published(at, known)
    clock.forward(days=at.settings.erase_after_days, seconds=-1)
    assert forget.erase_due(at) == ()
    assert "Quillfeather" in held(at)
    clock.forward(seconds=1)
    assert forget.erase_due(at) == (known.id,)
    assert [name for name in NAMES if name in held(at)] == []
    with at.units.read() as session:
        line = records.last(session, known.id)
    assert line is not None
    assert (line.what, line.who) == (Deed.FORGOTTEN, "clock")
    assert forget.erase_due(at) == ()


def counted(times: int, fails: bool) -> tuple[Callable[[], None], threading.Event, list[int]]:
    """A duty that is done so many times before the event is set."""
    done: list[int] = []
    enough = threading.Event()

    def duty() -> None:
        done.append(1)
        if len(done) == times:
            enough.set()
        if fails:
            raise RuntimeError("not today")

    return duty, enough, done


def test_a_duty_is_done_at_the_start_and_ends_with_the_service() -> None:
    duty, enough, done = counted(1, fails=False)
    with every_day(duty):
        assert enough.wait(20)
    assert len(done) == 1
    assert all(thread.name != "daily" for thread in threading.enumerate())


def test_a_duty_that_fails_is_tried_again() -> None:
    duty, enough, _done = counted(3, fails=True)
    with every_day(duty, seconds=0.01):
        assert enough.wait(20)
