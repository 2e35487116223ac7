"""The schema: no drift between tables and steps, and triggers that keep what is sealed."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import CheckConstraint, UniqueConstraint, inspect, text

from panel.core.deeds import Deed
from panel.core.errors import Fault, PanelError
from panel.core.names import SittingStanding, Standing
from panel.store import amendments, comparisons, records, seals, sittings, trays
from panel.store.key_at_rest import Ciphertext
from panel.store.migrations import FOLDER, HEAD, revision, upgrade
from panel.store.session import Units, make_engine
from panel.store.tables import Base
from tests.store.steps import back_to_step_1
from tests.store.values import NOON, comparison, sitting, tray, with_trays


def test_tables_and_steps_do_not_drift(units):
    with units.engine.connect() as connection:
        options = {"compare_type": True, "compare_server_default": True}
        migration = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(migration, Base.metadata) == []


def test_drift_would_be_seen(units):
    with units.begin() as session:
        session.execute(text("ALTER TABLE comparison DROP COLUMN closed"))
    with units.engine.connect() as connection:
        found = compare_metadata(MigrationContext.configure(connection), Base.metadata)
    assert "closed" in str(found)


def test_every_constraint_has_the_name_of_its_table(units):
    """What Alembic's comparison does not see: checks and keys, by name, in the database itself."""
    inspector = inspect(units.engine)
    for name, table in Base.metadata.tables.items():
        there = {
            inspector.get_pk_constraint(name)["name"],
            *(key["name"] for key in inspector.get_foreign_keys(name)),
            *(one["name"] for one in inspector.get_unique_constraints(name)),
            *(one["name"] for one in inspector.get_check_constraints(name)),
        }
        assert there == {constraint.name for constraint in table.constraints}
        assert all(word and word.split("_", 1)[1].startswith(name) for word in there)


def test_checks_say_the_same_in_tables_and_steps(sqlite_units):
    inspector = inspect(sqlite_units.engine)
    for name, table in Base.metadata.tables.items():
        there = {one["name"]: one["sqltext"] for one in inspector.get_check_constraints(name)}
        declared = {
            constraint.name: str(constraint.sqltext)
            for constraint in table.constraints
            if isinstance(constraint, CheckConstraint)
        }
        assert there == declared


def test_a_tray_has_one_counted_ballot_by_constraint():
    unique = [
        {column.name for column in constraint.columns}
        for constraint in Base.metadata.tables["ballot"].constraints
        if isinstance(constraint, UniqueConstraint)
    ]
    assert {"comparison", "tray", "counted"} in unique


def test_the_head_that_start_up_compares_is_the_newest_step():
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    config.set_main_option("path_separator", "os")
    assert ScriptDirectory.from_config(config).get_current_head() == HEAD


def test_upgrading_again_changes_nothing(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
    upgrade(units.engine)
    with units.read() as session:
        assert len(comparisons.every(session)) == 1
    with units.engine.connect() as connection:
        assert revision(connection) == HEAD


def test_a_database_of_the_first_step_is_brought_up_to_date(tmp_path):
    """What was kept before is kept, with the new columns empty."""
    old = Units(make_engine(f"sqlite:///{tmp_path / 'old.db'}"))
    upgrade(old.engine)
    with old.begin() as session:
        comparisons.add(session, comparison())
        back_to_step_1(session)
    upgrade(old.engine)
    with old.read() as session:
        assert comparisons.every(session) == (comparison(),)
    with old.engine.connect() as connection:
        assert revision(connection) == HEAD
    old.close()


def test_two_that_start_at_once_make_one_schema(database_url):
    engines = [make_engine(database_url) for _ in range(3)]
    with ThreadPoolExecutor(3) as threads:
        list(threads.map(upgrade, engines))
    for engine in engines:
        engine.dispose()


def test_a_step_that_fails_leaves_an_empty_database(database_url, monkeypatch):
    """Tables are made in one transaction with the note of the step, or not at all."""
    units = Units(make_engine(database_url))
    monkeypatch.setattr("alembic.op.create_index", fail)
    with pytest.raises(RuntimeError, match="power cut"):
        upgrade(units.engine)
    assert inspect(units.engine).get_table_names() == []
    monkeypatch.undo()
    upgrade(units.engine)
    assert "comparison" in inspect(units.engine).get_table_names()
    units.close()


def fail(*_given, **_named):
    raise RuntimeError("power cut")


def test_a_newer_database_is_refused_in_words(units):
    with units.begin() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(PanelError, match="newer Panel") as refusal:
        upgrade(units.engine)
    assert refusal.value.fault is Fault.PLACE


# --- what is sealed and recorded stays ---------------------------------------------------------


@pytest.fixture
def sealed(units):
    """A sealed comparison with an amendment and a line in the record."""
    with units.begin() as session:
        with_trays(session, 2)
        comparisons.set_standing(session, "comparison01", Standing.SEALED)
        seals.add(
            session,
            "comparison01",
            digest="ab" * 32,
            document='{"plan":1}',
            made=NOON,
            ciphertext=Ciphertext(b"shut"),
        )
        amendments.add(
            session, "comparison01", at=NOON, person="person000001", what="w", reason="r"
        )
        records.append(
            session, "comparison01", NOON, role="organiser", who="person000001", what=Deed.SEALED
        )
    return units


FORBIDDEN = (
    "UPDATE seal SET digest = 'cd'",
    "UPDATE seal SET document = 'another plan'",
    "UPDATE seal SET made = '2027-03-15 12:00:00.000000'",
    "DELETE FROM seal",
    "UPDATE record SET who = 'person000002'",
    "UPDATE record SET sequence = 7",
    "DELETE FROM record",
    "DELETE FROM record WHERE sequence = 1",
    "UPDATE amendment SET reason = 'another'",
    "DELETE FROM amendment",
    "UPDATE comparison SET plan = '{}'",
    "UPDATE comparison SET serving = '{}', standing = 'drafted'",
    "UPDATE comparison SET standing = 'drafted'",
    "UPDATE comparison SET title = 'another'",
    "UPDATE comparison SET variable = 'another'",
    "UPDATE comparison SET blinding = 'triple'",
    "UPDATE comparison SET waived = 'for another reason'",
    "UPDATE comparison SET duties = '{}'",
    "DELETE FROM comparison",
    "UPDATE beer SET value = 'another' WHERE letter = 'B'",
    "DELETE FROM beer",
    "UPDATE sitting SET told = 'another'",
    "UPDATE sitting SET information = 'informed'",
    "UPDATE sitting SET starts = '2027-04-01 12:00:00.000000'",
    "DELETE FROM sitting",
    "UPDATE cup SET code = '935' WHERE position = 1",
    "DELETE FROM cup",
)


def test_the_database_refuses_to_change_what_is_sealed_and_recorded(sealed):
    for statement in FORBIDDEN:
        with pytest.raises(PanelError), sealed.begin() as session:
            session.execute(text(statement))
    with sealed.read() as session:
        assert records.verify(session, "comparison01") is None
        assert seals.load(session, "comparison01").document == '{"plan":1}'
        known = comparisons.load(session, "comparison01")
        assert replace(known, standing=Standing.DRAFTED, seal=None) == comparison()
        assert [one.cups for one in trays.of_comparison(session, "comparison01")] == [
            tray(1).cups,
            tray(2).cups,
        ]


def test_no_sealed_row_is_put_in_the_place_of_another(sqlite_url):
    """SQLite's REPLACE deletes without asking the trigger on deleting."""
    units = Units(make_engine(sqlite_url))
    upgrade(units.engine)
    with units.begin() as session:
        comparisons.add(session, comparison())
        shut = Ciphertext(b"shut")
        seals.add(
            session, "comparison01", digest="ab" * 32, document="{}", made=NOON, ciphertext=shut
        )
    with pytest.raises(PanelError), units.begin() as session:
        session.execute(
            text(
                "INSERT OR REPLACE INTO seal SELECT comparison, 'cd', document, made, ciphertext, "
                "algorithm, version, opened FROM seal"
            )
        )
    units.close()


@pytest.mark.postgresql
def test_postgresql_refuses_to_empty_their_tables(postgresql_url):
    units = Units(make_engine(postgresql_url))
    upgrade(units.engine)
    for table in ("seal", "record", "amendment", "cup"):
        with pytest.raises(PanelError), units.begin() as session:
            session.execute(text(f"TRUNCATE {table}"))
    units.close()


def test_a_seal_is_opened_once(sealed):
    with sealed.begin() as session:
        seals.open_seal(session, "comparison01", {"secret": "00", "key": {"1": "ABA"}})
    with pytest.raises(PanelError), sealed.begin() as session:
        seals.open_seal(session, "comparison01", {"secret": "00", "key": {"1": "BAB"}})
    with sealed.read() as session:
        assert seals.opened(session, "comparison01")["key"] == {"1": "ABA"}


def test_what_may_change_on_a_sealed_comparison_still_does(sealed):
    with sealed.begin() as session:
        seals.rewrap(session, "comparison01", Ciphertext(b"shut anew", version=2))
        comparisons.set_standing(session, "comparison01", Standing.SERVING)
        comparisons.save(session, comparison())
        sittings.set_standing(
            session, "comparison01", "comparison01-s", SittingStanding.SERVING, NOON
        )
        sittings.add(session, "comparison01", sitting("sitting00002", name="A further one"))
    with sealed.read() as session:
        assert seals.rest(session, "comparison01") == Ciphertext(b"shut anew", version=2)
        known = comparisons.load(session, "comparison01")
        assert known.standing is Standing.SERVING
        assert [(one.standing, one.opened) for one in known.sittings] == [
            (SittingStanding.SERVING, NOON),
            (SittingStanding.PREPARED, None),
        ]


def test_a_draft_changes_in_every_part(units):
    other = comparison(title="Does warmth show?", variable="warmth", beers=comparison().beers)
    with units.begin() as session:
        comparisons.add(session, comparison())
        comparisons.save(session, other)
        sittings.save(session, "comparison01", sitting("comparison01-s", place="Garden"))
    with units.begin() as session:
        known = comparisons.load(session, "comparison01")
        assert (known.title, known.variable) == (other.title, other.variable)
        assert known.sittings[0].place == "Garden"
        sittings.remove(session, "comparison01", "comparison01-s")
