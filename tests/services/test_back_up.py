"""Backups: of one moment, proved before they replace anything, from either engine into either."""

import hashlib
import json
import shutil
import sqlite3
import threading
import zipfile
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import select, text

from panel import settings as settings_room
from panel.core.allocation.check_letter import card_number
from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.names import Role
from panel.core.record import INSTANCE
from panel.services import (
    invite,
    keep_key,
    plan_comparison,
    review_cards,
    sign_in,
    take_ballot,
)
from panel.services.back_up import back_up, restore
from panel.services.sealed_key import unwrap
from panel.services.workplace import open_workplace
from panel.store import records
from panel.store.instance_key import FILE
from panel.store.migrations import HEAD
from panel.store.plain_rows import rows_of
from panel.store.snapshot import MANIFEST
from panel.store.tables import Base
from tests.builders import ORGANISER, Clock, answers, key_holder, serving, trays, workplace
from tests.readings import waiting_reading
from tests.store.steps import back_to_step_1


@pytest.fixture
def at(database_url, tmp_path):
    with workplace(database_url, tmp_path / "instance") as opened:
        yield opened


@pytest.fixture
def known(at):
    """A comparison that is being served, with two ballots in."""
    found = serving(at)
    for number in (1, 2):
        take(at, found, number)
    return found


def take(at, known, number, *picked):
    tray = next(one for one in trays(at, known) if one.number == number)
    given = {**answers(known, tray, *picked), "words": ("hops, Käse and “cellar”",)}
    key = f"{number:016}{len(picked)}"
    card = card_number(number)
    return take_ballot.take_keyed(at, ORGANISER, known.id, card, given, key)


def settings_for(folder: Path, database_url: str):
    """The settings of another installation; its folder has the key unless it is taken away."""
    folder.mkdir()
    environment = {"PANEL_DATABASE_URL": database_url, "PANEL_ADDRESS": "http://10.0.0.5:8000"}
    return settings_room.load(environment, folder)


def plain(units):
    """Everything in a database but the records of the machine itself, in words of no engine."""
    with units.read() as session:
        rows = list(rows_of(session.connection()))
    machine = {Deed.BACKED_UP, Deed.RESTORED}
    return [(name, row) for name, row in rows if name != "record" or row["what"] not in machine]


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def other_url(request, tmp_path):
    """A second database, on either engine."""
    if request.param == "sqlite":
        return f"sqlite:///{(tmp_path / 'other.db').as_posix()}"
    return request.getfixturevalue("postgresql_url")


def test_a_backup_is_restored_into_either_engine(at, known, other_url, tmp_path):
    out = tmp_path / "evening.zip"
    before = plain(at.units)
    manifest = back_up(at, ORGANISER, out)
    assert manifest.counts["ballot"] == 2
    settings = settings_for(tmp_path / "other", other_url)
    shutil.copy(at.settings.instance / FILE, settings.instance / FILE)
    done = restore(out, settings, now=Clock())
    assert (done.kept, done.key_fits) == (None, True)
    there = open_workplace(settings, Clock())
    try:
        assert plain(there.units) == before
        with there.units.read() as session:
            assert [records.verify(session, chain) for chain in records.chains(session)] == [
                None
            ] * 2
            assert records.last(session, INSTANCE).what == Deed.RESTORED
            unwrap(session, there, known.id)  # the sealed key opens there
        # It goes on where it stopped: the same ballot again is the same, another one is taken.
        assert take(there, known, 2).code == take(at, known, 2).code
        assert take(there, known, 3).code.endswith("1")
    finally:
        there.units.close()


def test_pictures_of_cards_come_back_with_what_was_read_of_them(at, known, other_url, tmp_path):
    """Byte by byte, so that somebody can still look at a card on the other machine."""
    sitting = known.sittings[0].id
    number = waiting_reading(at, known, trays(at, known)[4])
    before = review_cards.review(at, ORGANISER, known.id, sitting, number).reading
    assert before.read.picture.startswith(b"\xff\xd8\xff")
    back_up(at, ORGANISER, tmp_path / "evening.zip")
    settings = settings_for(tmp_path / "other", other_url)
    shutil.copy(at.settings.instance / FILE, settings.instance / FILE)
    restore(tmp_path / "evening.zip", settings, now=Clock())
    with closing_workplace(settings) as there:
        after = review_cards.review(there, ORGANISER, known.id, sitting, number)
        assert after.reading == before
        assert after.pile.waiting == (number,)


def test_nothing_that_was_open_then_is_open_after_a_restore(at, known, other_url, tmp_path):
    """Sign-ins, passes and links of that moment: ended or used up since, for all we know."""
    robin = sign_in.set_up(at, sign_in.set_up_link(at), "Robin", "heron lantern gravel spoon")
    sitting = known.sittings[0].id
    steward = invite.accept(at, invite.invite(at, ORGANISER, known.id, sitting, Role.STEWARD))
    unused = invite.invite(at, ORGANISER, known.id, sitting, Role.POURER)
    keeper = key_holder(at, known)
    link = sign_in.set_up_link(at)
    assert sign_in.person_of(at, robin) is not None
    assert invite.role_of(at, unused) is Role.POURER
    back_up(at, ORGANISER, tmp_path / "backup")
    settings = settings_for(tmp_path / "new", other_url)
    shutil.copy(at.settings.instance / FILE, settings.instance / FILE)
    restore(tmp_path / "backup", settings, now=at.now)
    with closing_workplace(settings) as again:
        assert sign_in.person_of(again, robin) is None
        assert sign_in.person_of(again, steward) is None
        assert invite.role_of(again, unused) is None
        with pytest.raises(PanelError, match="does not work any more"):
            sign_in.set_up(again, link, "Mallory", "quiet copper kettle lid")
        fresh = sign_in.sign_in(again, "Robin", "heron lantern gravel spoon")
        assert sign_in.person_of(again, fresh) is not None
        assert [one.id for one in keep_key.kept(again, keeper)] == [known.id]


@contextmanager
def closing_workplace(settings):
    opened = open_workplace(settings, Clock())
    try:
        yield opened
    finally:
        opened.units.close()


def test_every_table_of_ours_travels(at, known, tmp_path):
    """A table that is added later must not be forgotten."""
    manifest = back_up(at, ORGANISER, tmp_path / "backup")
    with at.units.read() as session:
        held = {
            name
            for name, table in Base.metadata.tables.items()
            if session.execute(select(table).limit(1)).first() is not None
        }
    assert set(manifest.counts) == held
    assert {"comparison", "seal", "tray", "cup", "ballot", "answer", "record"} <= held


def test_making_a_backup_is_recorded(at, known, tmp_path):
    manifest = back_up(at, ORGANISER, tmp_path / "backup")
    with at.units.read() as session:
        line = records.last(session, INSTANCE)
    assert line.what == Deed.BACKED_UP
    assert json.loads(line.detail)["data"] == manifest.files[manifest.data]


def test_no_backup_holds_the_key(at, known, tmp_path):
    back_up(at, ORGANISER, tmp_path / "backup")
    key = at.instance_key
    held = b"".join(path.read_bytes() for path in (tmp_path / "backup").iterdir())
    assert key not in held
    assert key.hex().encode() not in held


def test_backups_while_ballots_come_in_hold_whole_ballots(at, tmp_path):
    """Each is of one moment: counts, answers and record agree, and what was acknowledged before
    it began is in it."""
    known = serving(at, planned=12)
    acknowledged, sizes = [], []

    def evening():
        for number in range(1, 13):
            take(at, known, number)
            acknowledged.append(number)

    writing = threading.Thread(target=evening)
    writing.start()
    for turn in range(6):
        before = len(acknowledged)
        manifest = back_up(at, ORGANISER, tmp_path / f"backup{turn}")
        sizes.append((before, manifest.counts.get("ballot", 0), manifest.counts.get("answer", 0)))
        restore(tmp_path / f"backup{turn}", settings_for(*fresh(tmp_path, turn)), now=Clock())
    writing.join()
    assert all(kept >= before for before, kept, _answered in sizes), sizes
    assert all(answered == 4 * kept for _before, kept, answered in sizes), sizes


def fresh(tmp_path, turn):
    return tmp_path / f"fresh{turn}", f"sqlite:///{(tmp_path / f'fresh{turn}.db').as_posix()}"


def test_what_is_there_already_is_not_written_over(at, tmp_path):
    (tmp_path / "evening.zip").write_text("another")
    with pytest.raises(PanelError, match="something at"):
        back_up(at, ORGANISER, tmp_path / "evening.zip")
    assert (tmp_path / "evening.zip").read_text() == "another"


def test_a_backup_that_cannot_be_written_leaves_nothing(at, known, tmp_path, monkeypatch):
    def full(*_given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(PanelError, match="No space left") as refusal:
        back_up(at, ORGANISER, tmp_path / "out" / "evening.zip")
    assert refusal.value.fault is Fault.PLACE
    assert list((tmp_path / "out").iterdir()) == []


# --- what restore refuses, and that it leaves everything as it was -------------------------------


def test_a_database_that_holds_something_is_not_replaced_unless_told(at, known, tmp_path):
    back_up(at, ORGANISER, tmp_path / "backup")
    take(at, known, 3)
    before = plain(at.units)
    at.units.close()
    with pytest.raises(PanelError, match="--replace") as refusal:
        restore(tmp_path / "backup", at.settings)
    assert refusal.value.fault is Fault.CLASH
    assert plain(at.units) == before
    at.units.close()
    done = restore(tmp_path / "backup", at.settings, replace=True)
    assert len(plain(at.units)) < len(before)
    assert done.kept.exists()
    assert done.kept.parent == at.settings.instance / "backups"


def test_a_service_that_runs_is_not_pulled_from_under(sqlite_url, tmp_path):
    with workplace(sqlite_url, tmp_path / "instance") as at:
        known = serving(at)
        back_up(at, ORGANISER, tmp_path / "backup")
        with pytest.raises(PanelError, match="Stop it first"):
            restore(tmp_path / "backup", at.settings, replace=True)
        take(at, known, 1)


def damage_data(folder):
    path = next(path for path in folder.iterdir() if path.name != MANIFEST)
    words = bytearray(path.read_bytes())
    words[len(words) // 2] ^= 1
    path.write_bytes(words)


def damage_manifest(folder):
    (folder / MANIFEST).write_text("{")


def drop_manifest(folder):
    (folder / MANIFEST).unlink()


def miscount(folder):
    change(folder, lambda words: words["counts"].update(ballot=3))


def other_end(folder):
    change(folder, lambda words: next(iter(words["heads"].values())).update(hash="ab" * 32))


def another_file(folder):
    change(folder, lambda words: words["files"].update({"../settings.toml": "ab" * 32}))


def change(folder, how):
    words = json.loads((folder / MANIFEST).read_text())
    how(words)
    (folder / MANIFEST).write_text(json.dumps(words))


@pytest.mark.parametrize(
    "damage", [damage_data, damage_manifest, drop_manifest, miscount, other_end, another_file]
)
def test_a_damaged_backup_replaces_nothing(at, known, tmp_path, damage):
    back_up(at, ORGANISER, tmp_path / "backup")
    damage(tmp_path / "backup")
    before = plain(at.units)
    at.units.close()
    with pytest.raises(PanelError, match="cannot be used") as refusal:
        restore(tmp_path / "backup", at.settings, replace=True)
    assert refusal.value.fault is Fault.PLACE
    assert plain(at.units) == before


def tampered(folder, statement):
    """A backup that somebody changed and hashed anew."""
    path = folder / "panel.db"
    connection = sqlite3.connect(path)
    for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
        connection.execute(f"DROP TRIGGER {name}")
    connection.execute(statement)
    connection.commit()
    connection.close()
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    change(folder, lambda words: words["files"].update({"panel.db": digest}))


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("UPDATE record SET who = 'somebody' WHERE sequence = 2", "breaks at line 2"),
        ("UPDATE ballot SET tray = 99 WHERE tray = 1", "point at rows that are missing"),
    ],
)
def test_a_backup_that_was_changed_by_hand_is_found_out(sqlite_url, tmp_path, statement, why):
    with workplace(sqlite_url, tmp_path / "instance") as at:
        known = serving(at)
        take(at, known, 1)
        back_up(at, ORGANISER, tmp_path / "backup")
    tampered(tmp_path / "backup", statement)
    settings = settings_for(tmp_path / "other", f"sqlite:///{tmp_path / 'other.db'}")
    with pytest.raises(PanelError, match=why):
        restore(tmp_path / "backup", settings)
    assert not (tmp_path / "other.db").exists()


def test_a_newer_backup_is_refused_in_words(at, known, tmp_path):
    back_up(at, ORGANISER, tmp_path / "backup")
    change(tmp_path / "backup", lambda words: words.update(schema="9999", program="7.0"))
    settings = settings_for(tmp_path / "other", f"sqlite:///{tmp_path / 'other.db'}")
    with pytest.raises(PanelError, match=r"newer Panel \(7\.0, step 9999\)"):
        restore(tmp_path / "backup", settings)


def test_there_is_no_backup(at, tmp_path):
    (tmp_path / "x.zip").write_bytes(b"PK")
    for name, words in (("nothing", "no backup at"), ("x.zip", "cannot be used")):
        with pytest.raises(PanelError, match=words):
            restore(tmp_path / name, at.settings)


def test_an_archive_writes_nowhere_else(at, known, tmp_path):
    back_up(at, ORGANISER, tmp_path / "backup.zip")
    with zipfile.ZipFile(tmp_path / "backup.zip", "a") as archive:
        archive.writestr("../../settings.toml", "port = 1")
    settings = settings_for(tmp_path / "other", f"sqlite:///{tmp_path / 'other.db'}")
    assert not restore(tmp_path / "backup.zip", settings).key_fits
    assert list(tmp_path.rglob("settings.toml")) == []


# --- backups that the program makes by itself ----------------------------------------------------


def aged(units):
    """As the first step left it."""
    with units.begin() as session:
        back_to_step_1(session)


def test_an_older_database_is_backed_up_before_it_is_changed(at, known, other_url, tmp_path):
    aged(at.units)
    at.units.close()
    again = open_workplace(at.settings, Clock())
    assert plan_comparison.comparison(again, ORGANISER, known.id).title == known.title
    again.units.close()
    (kept,) = (at.settings.instance / "backups").iterdir()
    # An older backup is brought up to date on its way into another installation.
    settings = settings_for(tmp_path / "other", other_url)
    shutil.copy(at.settings.instance / FILE, settings.instance / FILE)
    assert restore(kept, settings).manifest.schema == "0001"
    there = open_workplace(settings, Clock())
    assert plan_comparison.comparison(there, ORGANISER, known.id) == plan_comparison.comparison(
        again, ORGANISER, known.id
    )
    again.units.close()
    there.units.close()


def test_the_last_five_are_kept(at, known):
    clock = Clock()
    for _ in range(7):
        aged(at.units)
        at.units.close()
        clock.forward(hours=1)
        open_workplace(at.settings, clock).units.close()
    names = sorted(path.name for path in (at.settings.instance / "backups").iterdir())
    assert len(names) == 5
    assert names[-1].startswith(f"before-step-{HEAD}-20270315T013000")


def test_a_step_that_fails_leaves_everything_and_tells_the_way_back(at, known, monkeypatch):
    aged(at.units)
    before = plain(at.units)

    def half(_connection):
        _connection.execute(text("ALTER TABLE comparison ADD COLUMN half TEXT"))
        raise RuntimeError("power cut")

    monkeypatch.setattr("panel.store.migrations.bring_to", half)
    with pytest.raises(PanelError, match=f"step 0001 to step {HEAD}.*before-step-") as refusal:
        open_workplace(at.settings, Clock())
    assert refusal.value.fault is Fault.PLACE
    assert "power cut" not in str(refusal.value.message)
    assert plain(at.units) == before
    monkeypatch.undo()
    open_workplace(at.settings, Clock()).units.close()


def test_an_upgrade_without_room_for_its_backup_does_not_begin(at, known, monkeypatch):
    aged(at.units)
    before = plain(at.units)

    def full(*_given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(PanelError, match="No space left"):
        open_workplace(at.settings, Clock())
    assert plain(at.units) == before


def test_a_new_installation_makes_no_backup(at):
    assert not (at.settings.instance / "backups").exists()
