"""A key holder's passphrase on the key: what it shuts, what it leaves, how it comes off."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from panel import settings as settings_room
from panel.core.allocation.check_letter import card_number
from panel.core.comparison import Comparison
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.names import CardStanding, Information, Reason, Role, SittingKind, Standing
from panel.core.paper.payload import ref_of
from panel.services import (
    back_up,
    close_and_unseal,
    emergency,
    lock_key,
    open_sitting,
    own_result,
    plan_comparison,
    pour,
    print_kit,
    recover_key,
    seal_comparison,
    settle_ballots,
    show_result,
    take_ballot,
    tally,
)
from panel.services.sealed_key import Passphrase, order_of, unwrap
from panel.services.workplace import Actor, Workplace, open_workplace
from panel.store import key_at_rest, key_lock, records
from panel.store.instance_key import FILE
from panel.store.tables import Base
from panel.store.tables_comparison import SealRow
from tests.builders import (
    ORGANISER,
    Clock,
    answers,
    draft,
    key_holder,
    plan_for,
    serving,
    sitting_draft,
    token,
    trays,
    workplace,
)
from tests.services.test_recover_key import envelope, lost

WORDS = "four baskets by the harbour"


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def at(
    database_url: str, tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Workplace]:
    """Its cost is tests/store/test_key_lock.py's to see."""
    monkeypatch.setattr(key_lock, "COST", 2**10)
    with workplace(database_url, tmp_path / "instance", clock=clock) as place:
        yield place


def locked(at: Workplace, known: Comparison) -> Actor:
    """The key holder, who has put a passphrase on the key."""
    holder = key_holder(at, known)
    print_kit.key_sheet(at, holder, known.id, known.sittings[0].id, "sealed-key")
    lock_key.lock(at, holder, known.id, WORDS, WORDS)
    return holder


def refused(deed: Callable[[], object]) -> PanelError:
    with pytest.raises(PanelError) as refusal:
        deed()
    return refusal.value


def deeds(at: Workplace, known: Comparison) -> list[str]:
    with at.units.read() as session:
        assert records.verify(session, known.id) is None
        return [line.what for line in records.of_chain(session, known.id)]


def plain(at: Workplace, known: Comparison) -> str:
    """What whoever has the database and instance.key reads of the sealed key."""
    with at.units.read() as session:
        row = session.get_one(SealRow, known.id)
        resting = key_at_rest.Ciphertext(row.ciphertext, row.algorithm, row.version)
        return key_at_rest.decrypt(at.instance_key, known.id, resting).decode()


# --- what it shuts -------------------------------------------------------------------------------


def test_database_and_instance_key_together_open_nothing(at: Workplace) -> None:
    known = serving(at)
    with at.units.read() as session:
        secrets = unwrap(session, at, known.id)
    assert secrets.secret.hex() in plain(at, known)
    locked(at, known)
    words = plain(at, known)
    assert secrets.secret.hex() not in words
    assert not any(f'"{order}"' in words for order in secrets.key.values())
    with at.units.read() as session:
        assert refused(lambda: unwrap(session, at, known.id)).code == "key-locked"
        wrong = Passphrase(b"\0" * 32, b"")
        assert refused(lambda: unwrap(session, at, known.id, wrong)).code == "key-locked"
        everything = repr(
            [tuple(row) for table in Base.metadata.sorted_tables
             for row in session.execute(select(table))]
        )  # fmt: skip
    assert WORDS not in everything


def test_the_lengths_of_what_is_shut_tell_no_order(at: Workplace) -> None:
    """All orders of a method are as long, and so are their ciphertexts."""
    known = serving(at)
    holder = locked(at, known)
    under = lock_key.passphrase_of(at, holder, known.id, WORDS)
    assert under is not None
    with at.units.read() as session:
        orders = {number: order_of(session, at, known.id, number, under) for number in range(1, 13)}
    assert len(set(orders.values())) == 6
    shut = [part for part in plain(at, known).split('"') if len(part) == 2 * (12 + 3 + 16)]
    assert len(shut) == len(set(shut)) == len(orders)


def test_nobody_else_prints_or_sees_what_shows_the_key(at: Workplace) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    locked(at, known)
    pourer = Actor(Role.POURER, "pass", known.id, sitting)
    for actor in (ORGANISER, pourer):
        refusal = refused(lambda: print_kit.key_sheet(at, actor, known.id, sitting, "pour-mats"))  # noqa: B023
        assert refusal.code == "key-locked"
        assert refused(lambda: pour.pouring(at, actor, known.id, sitting)).code == "key-locked"  # noqa: B023
        for words in (WORDS, "another thing altogether"):
            deed = lambda: print_kit.key_sheet(  # noqa: E731
                at, actor, known.id, sitting, "pour-mats", passphrase=words  # noqa: B023
            )  # fmt: skip
            assert refused(deed).code == "key-locked"
    listed = print_kit.contents(at, ORGANISER, known.id, sitting)
    assert listed
    assert not any(one.shows_key for one in listed)
    assert Deed.KEY_SHOWN not in deeds(at, known)
    assert Deed.PASSPHRASE_REFUSED not in deeds(at, known)
    for name in ("cup-labels", "ballot-cards"):
        assert print_kit.sheet(at, ORGANISER, known.id, sitting, name).pdf[:5] == b"%PDF-"


def test_no_sitting_is_added_while_it_is_on(at: Workplace) -> None:
    plan = replace(plan_for("triangle"), further_sittings=True)
    known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan), sitting_draft())
    seal_comparison.seal(at, ORGANISER, known.id)
    holder = locked(at, plan_comparison.comparison(at, ORGANISER, known.id))

    def add() -> object:
        return seal_comparison.add_sitting_after_seal(
            at, ORGANISER, known.id, sitting_draft("Summer")
        )

    assert refused(add).code == "key-locked"
    lock_key.take_off(at, holder, known.id, WORDS)
    add()


def test_own_answers_wait_for_the_closing(at: Workplace) -> None:
    known = serving(at, kind=SittingKind.PARCEL)
    tray, other = trays(at, known)[:2]
    for one in (tray, other):
        take_ballot.take_phone(at, ref_of(token(at, known, one)), answers(known, one), "k")
    ref, second = (ref_of(token(at, known, one)) for one in (tray, other))
    before = own_result.open_own_answer(at, ref)
    holder = locked(at, known)
    assert not own_result.may_open_early(at, second)
    assert refused(lambda: own_result.open_own_answer(at, second)).code == "not-yet-seen"
    assert own_result.own_result(at, ref) is None
    lock_key.take_off(at, holder, known.id, WORDS)
    assert own_result.own_result(at, ref) == before
    assert own_result.may_open_early(at, second)


# --- what goes on --------------------------------------------------------------------------------


def test_the_evening_goes_on_and_ends_with_the_passphrase(at: Workplace) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    holder = locked(at, known)
    for tray in trays(at, known)[:3]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k")
    fourth = trays(at, known)[3]
    card = card_number(fourth.number)
    take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, fourth), "k" * 16)
    open_sitting.set_aside(at, ORGANISER, known.id, 5, Reason.SPILLED)
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    assert [str(one) for one in close_and_unseal.still_open(at, ORGANISER, known.id)] == [
        str(refused(lambda: close_and_unseal.close(at, ORGANISER, known.id)).message)
    ]
    assert close_and_unseal.still_open(at, holder, known.id) == ()
    assert refused(lambda: close_and_unseal.close(at, holder, known.id)).field == "passphrase"
    closed = close_and_unseal.close(at, holder, known.id, WORDS)
    assert closed.standing is Standing.CLOSED
    result = tally.findings(at, ORGANISER, known.id)
    assert result.result.seal is not None
    assert show_result.opened_seal(result).holds(result.result.seal.digest)
    assert not lock_key.locked(at, holder, known.id)
    print_kit.key_sheet(at, ORGANISER, known.id, sitting, "sealed-key")


def test_who_is_told_is_known_to_the_phones_of_a_split_sitting(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told="One was warm.", planned=8)
    with at.units.read() as session:
        informed = unwrap(session, at, known.id).informed
    locked(at, known)
    told = {
        tray.number
        for tray in trays(at, known)
        if take_ballot.taster_view(at, ref_of(token(at, known, tray))).told
    }
    assert told == informed


def test_the_key_holder_prints_with_it(at: Workplace) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    holder = locked(at, known)
    listed = print_kit.key_contents(at, holder, known.id, sitting)
    assert {one.name for one in listed} >= {"pour-mats", "pour-sheet", "sealed-key"}
    assert {one.pages for one in listed} == {0}
    words = f" {WORDS} "  # a space at an end is a slip of the thumb
    for one in listed:
        made = print_kit.key_sheet(at, holder, known.id, sitting, one.name, passphrase=words)
        assert made.pdf[:5] == b"%PDF-"
    assert deeds(at, known).count(Deed.KEY_PRINTED) == 1 + len(listed)


def test_in_an_emergency_that_tray_opens_and_no_other(
    at: Workplace, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = serving(at)
    with at.units.read() as session:
        order = unwrap(session, at, known.id).key[4]
    holder = locked(at, known)
    refusal = refused(lambda: emergency.open_one_tray(at, ORGANISER, known.id, 4, "hives"))
    assert refusal.code == "tray-locked"
    assert refused(
        lambda: emergency.open_one_tray(at, holder, known.id, 4, "hives", "x")
    ).field == "passphrase"  # fmt: skip
    assert trays(at, known)[3].standing is CardStanding.PRINTED
    parts: list[str] = []
    real = key_lock.opened

    def seen(key: bytes, comparison: str, part: str, shut: bytes) -> bytes | None:
        parts.append(part)
        return real(key, comparison, part, shut)

    monkeypatch.setattr(key_lock, "opened", seen)
    opened = emergency.open_one_tray(at, holder, known.id, 4, "hives", WORDS)
    assert "".join(cup.beer.letter for cup in opened.cups) == order
    assert {part for part in parts if part.startswith("tray")} == {"tray 4"}
    assert trays(at, known)[3].standing is CardStanding.SET_ASIDE
    assert deeds(at, known)[-1] == Deed.TRAY_REVEALED


# --- putting it on, taking it off ----------------------------------------------------------------


def test_only_the_key_holder_puts_one_on(at: Workplace) -> None:
    known, other = serving(at), serving(at)
    holder = key_holder(at, known)
    print_kit.key_sheet(at, ORGANISER, other.id, other.sittings[0].id, "sealed-key")
    for actor in (ORGANISER, Actor(Role.STEWARD, "pass", other.id), holder):
        refusal = refused(lambda: lock_key.lock(at, actor, other.id, WORDS, WORDS))  # noqa: B023
        assert refusal.fault is Fault.FORBIDDEN
    assert not lock_key.locked(at, ORGANISER, other.id)


def test_the_envelope_comes_first(at: Workplace) -> None:
    known = serving(at)
    holder = key_holder(at, known)
    assert not lock_key.envelope_printed(at, holder, known.id)
    print_kit.key_sheet(at, holder, known.id, known.sittings[0].id, "pour-mats")
    refusal = refused(lambda: lock_key.lock(at, holder, known.id, WORDS, WORDS))
    assert (refusal.code, refusal.field) == ("envelope-first", "passphrase")
    print_kit.key_sheet(at, ORGANISER, known.id, known.sittings[0].id, "sealed-key")
    assert lock_key.envelope_printed(at, holder, known.id)
    lock_key.lock(at, holder, known.id, WORDS, WORDS)


@pytest.mark.parametrize(
    ("words", "again", "field"),
    [
        ("", "", "passphrase"),
        ("four baskets", "four baskets", "passphrase"),
        ("x" * 300, "x" * 300, "passphrase"),
        ("password1234567890", "password1234567890", "passphrase"),
        ("aaaaaaaaaaaaaaaaaa", "aaaaaaaaaaaaaaaaaa", "passphrase"),
        (WORDS, WORDS + "s", "passphrase-again"),
        (WORDS, "", "passphrase-again"),
    ],
)
def test_one_that_is_easily_guessed_or_mistyped_is_refused(
    at: Workplace, words: str, again: str, field: str
) -> None:
    known = serving(at)
    holder = key_holder(at, known)
    print_kit.key_sheet(at, holder, known.id, known.sittings[0].id, "sealed-key")
    assert refused(lambda: lock_key.lock(at, holder, known.id, words, again)).field == field
    assert not lock_key.locked(at, holder, known.id)


def test_it_is_taken_off_and_put_on_anew(at: Workplace) -> None:
    known = serving(at)
    with at.units.read() as session:
        before = unwrap(session, at, known.id)
    holder = locked(at, known)
    assert refused(lambda: lock_key.lock(at, holder, known.id, WORDS, WORDS)).code == (
        "passphrase-on"
    )
    assert refused(lambda: lock_key.take_off(at, ORGANISER, known.id, WORDS)).fault is (
        Fault.FORBIDDEN
    )
    lock_key.take_off(at, holder, known.id, WORDS)
    with at.units.read() as session:
        assert unwrap(session, at, known.id) == before
    assert refused(lambda: lock_key.take_off(at, holder, known.id, WORDS)).code == "no-passphrase"
    lock_key.lock(at, holder, known.id, WORDS + " again", WORDS + " again")
    made = [what for what in deeds(at, known) if what in (Deed.KEY_LOCKED, Deed.KEY_UNLOCKED)]
    assert made == [Deed.KEY_LOCKED, Deed.KEY_UNLOCKED, Deed.KEY_LOCKED]


def test_a_wrong_one_is_said_recorded_and_not_tried_for_ever(at: Workplace, clock: Clock) -> None:
    known = serving(at)
    holder = locked(at, known)
    sitting = known.sittings[0].id

    def try_with(words: str) -> PanelError:
        return refused(
            lambda: print_kit.key_sheet(
                at, holder, known.id, sitting, "sealed-key", passphrase=words
            )
        )

    assert try_with("").code == "passphrase-missing"
    for _ in range(lock_key.WRONG_TRIES):
        assert try_with("five baskets by the harbour").code == "passphrase-wrong"
    assert deeds(at, known).count(Deed.PASSPHRASE_REFUSED) == lock_key.WRONG_TRIES
    assert try_with(WORDS).code == "passphrase-too-often"
    assert deeds(at, known).count(Deed.KEY_PRINTED) == 1
    clock.moment += timedelta(hours=1, seconds=1)
    print_kit.key_sheet(at, holder, known.id, sitting, "sealed-key", passphrase=WORDS)


def test_the_same_letters_composed_otherwise_are_the_same_words(at: Workplace) -> None:
    known = serving(at)
    holder = key_holder(at, known)
    print_kit.key_sheet(at, holder, known.id, known.sittings[0].id, "sealed-key")
    one, other = "vier Ko\u0308rbe am Hafen", "vier K\u00f6rbe am Hafen"
    lock_key.lock(at, holder, known.id, one, other)
    lock_key.take_off(at, holder, known.id, other)


def test_a_forgotten_one_comes_off_with_the_envelope(at: Workplace) -> None:
    known = serving(at)
    words = envelope(at, known)
    with at.units.read() as session:
        before = unwrap(session, at, known.id)
    holder = locked(at, known)
    assert not recover_key.opens(at, ORGANISER, known.id)
    other = serving(at)
    wrong = envelope(at, other)
    assert refused(lambda: recover_key.recover_key(at, holder, known.id, wrong)).field == "words"
    assert lock_key.locked(at, holder, known.id)
    recover_key.recover_key(at, holder, known.id, words)
    assert not lock_key.locked(at, holder, known.id)
    with at.units.read() as session:
        assert unwrap(session, at, known.id) == before
    assert deeds(at, known)[-1] == Deed.KEY_RECOVERED


def test_with_instance_key_lost_too_the_envelope_still_opens_it(at: Workplace) -> None:
    known = serving(at)
    words = envelope(at, known)
    holder = locked(at, known)
    after = lost(at)
    assert lock_key.locked(after, holder, known.id)
    assert refused(lambda: lock_key.take_off(after, holder, known.id, WORDS)).fault is Fault.PLACE
    recover_key.recover_key(after, ORGANISER, known.id, words)
    assert recover_key.opens(after, holder, known.id)


def test_from_a_restored_backup_it_opens_with_the_passphrase_alone(
    at: Workplace, tmp_path: Path
) -> None:
    known = serving(at)
    with at.units.read() as session:
        before = unwrap(session, at, known.id)
    holder = locked(at, known)
    back_up.back_up(at, ORGANISER, tmp_path / "backup")
    folder = tmp_path / "restored"
    folder.mkdir()
    (folder / FILE).write_bytes((at.settings.instance / FILE).read_bytes())
    there = settings_room.load(
        {"PANEL_DATABASE_URL": f"sqlite:///{folder / 'panel.db'}", "PANEL_ADDRESS": "http://x"},
        folder,
    )
    back_up.restore(tmp_path / "backup", there, now=Clock())
    restored = open_workplace(there, now=Clock())
    try:
        with restored.units.read() as session:
            assert refused(lambda: unwrap(session, restored, known.id)).code == "key-locked"
        lock_key.take_off(restored, holder, known.id, WORDS)
        with restored.units.read() as session:
            assert unwrap(session, restored, known.id) == before
    finally:
        restored.units.close()
    held = [
        path.read_bytes() for path in (tmp_path / "backup").rglob("*") if path.is_file()
    ]  # fmt: skip
    assert not any(before.secret.hex().encode() in one for one in held)
    assert not any(before.secret in one for one in held)
