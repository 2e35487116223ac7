"""Comparisons, sittings, amendments and measurements come back as they were kept."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from sqlalchemy.exc import NoResultFound

from panel.core.comparison import Beer, Seal
from panel.core.errors import PanelError
from panel.core.measurement import Measurement
from panel.core.names import (
    Blinding,
    Helpers,
    Information,
    Paper,
    SittingKind,
    SittingStanding,
    Standing,
)
from panel.core.plan import Plan
from panel.store import amendments, comparisons, measurements, seals, sittings, trays
from panel.store.key_at_rest import Ciphertext
from tests.store.values import NOON, comparison, sitting, tokens, tray


def test_a_whole_comparison_comes_back(units):
    whole = comparison(
        drink="cider",
        organised_by="The Harbour Guild",
        helpers=Helpers.THREE,
        blinding=Blinding.TRIPLE,
        waived="the word is harmless",
        sittings=(
            sitting("sitting00002", name="First", kind=SittingKind.PARCEL, paper=Paper.LETTER),
            sitting(
                "sitting00001",
                name="Second",
                information=Information.INFORMED,
                told="One was fermented warm.",
                groups_drawn=True,
                standing=SittingStanding.CLOSED,
                opened=NOON,
                closed=NOON + timedelta(hours=2),
            ),
        ),
    )
    with units.begin() as session:
        comparisons.add(session, whole)
    with units.read() as session:
        assert comparisons.load(session, whole.id) == whole
        assert comparisons.by_slug(session, whole.slug) == whole


def test_what_is_not_there_is_none(units):
    with units.read() as session:
        assert comparisons.load(session, "nothing") is None
        assert comparisons.by_slug(session, "nothing") is None
        assert comparisons.every(session) == ()
        assert sittings.load(session, "nothing", "nothing") is None


def test_the_seal_comes_with_its_comparison(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
        seals.add(
            session,
            "comparison01",
            digest="ab" * 32,
            document="{}",
            made=NOON,
            ciphertext=Ciphertext(b"shut"),
        )
    with units.read() as session:
        seal = Seal(digest="ab" * 32, made=NOON)
        assert comparisons.load(session, "comparison01").seal == seal
        assert seals.load(session, "comparison01").seal == seal
        assert seals.opened(session, "comparison01") is None


def test_newest_first_with_as_many_questions_for_fifty_as_for_one(units, statements):
    with units.begin() as session:
        for turn in range(50):
            made = NOON + timedelta(minutes=turn)
            comparisons.add(session, comparison(f"comparison{turn:02}", created=made))
    with units.read() as session, statements() as asked:
        found = comparisons.every(session)
    assert [one.id for one in found] == [f"comparison{turn:02}" for turn in reversed(range(50))]
    assert all(len(one.sittings) == 1 and len(one.beers) == 2 for one in found)
    assert len(asked) == 4


def test_saving_a_draft_changes_what_was_changed(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
    third = Beer(letter="C", name="Third tank", abv=Decimal("4.9"))
    first = replace(comparison().beers[0], value="18 °C")
    changed = comparison(
        title="Another",
        neutral_title="Three saisons",
        variable="yeast",
        beers=(first, third),
        plan=Plan(method="tetrad", tasters=24),
        waived="why not",
    )
    with units.begin() as session:
        comparisons.save(session, changed)
    with units.read() as session:
        assert comparisons.load(session, "comparison01") == changed


def test_saving_what_does_not_exist_is_an_error(units):
    with pytest.raises(NoResultFound), units.begin() as session:
        comparisons.save(session, comparison())


def test_standings_keep_their_moments(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
        comparisons.add(session, comparison("comparison02"))
    later = NOON + timedelta(days=8)
    with units.begin() as session:
        comparisons.set_standing(session, "comparison01", Standing.CLOSED, NOON)
        comparisons.set_standing(session, "comparison01", Standing.PUBLISHED, later)
    with units.read() as session:
        (found,) = comparisons.published(session)
    assert (found.standing, found.closed, found.published) == (Standing.PUBLISHED, NOON, later)


def test_sittings_are_saved_in_place_and_removed(units):
    with units.begin() as session:
        comparisons.add(session, comparison(sittings=()))
        for name in ("sitting00003", "sitting00001", "sitting00002"):
            sittings.add(session, "comparison01", sitting(name))
        sittings.save(session, "comparison01", sitting("sitting00003", name="Moved", planned=9))
        sittings.remove(session, "comparison01", "sitting00001")
        sittings.set_standing(
            session, "comparison01", "sitting00002", SittingStanding.SERVING, NOON
        )
    with units.read() as session:
        first, second = comparisons.load(session, "comparison01").sittings
    assert (first.id, first.name, first.planned) == ("sitting00003", "Moved", 9)
    assert (second.standing, second.opened, second.closed) == (SittingStanding.SERVING, NOON, None)


def test_a_sitting_of_another_comparison_is_not_found(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
        comparisons.add(session, comparison("comparison02"))
    with units.begin() as session:
        assert sittings.load(session, "comparison02", "comparison01-s") is None
        with pytest.raises(NoResultFound):
            sittings.remove(session, "comparison02", "comparison01-s")


def test_a_sitting_with_trays_stays(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
        trays.add_many(session, "comparison01", [tray(1)], tokens([tray(1)]))
    with pytest.raises(PanelError), units.begin() as session:
        sittings.remove(session, "comparison01", "comparison01-s")


def test_a_batch_sheet_is_replaced_whole_and_goes_with_its_beer(units):
    sheet = (
        Measurement(letter="A", name="final gravity", value=Decimal("1.0120"), unit="SG"),
        Measurement(letter="B", name="final gravity", value=Decimal("1.0080"), unit="SG"),
        Measurement(letter="B", name="pH", value=Decimal("4.25")),
    )
    with units.begin() as session:
        comparisons.add(session, comparison())
        measurements.save(session, "comparison01", (sheet[0],))
        measurements.save(session, "comparison01", reversed(sheet))
    with units.read() as session:
        assert sorted(measurements.of_comparison(session, "comparison01"), key=repr) == sorted(
            sheet, key=repr
        )
    with units.begin() as session:
        comparisons.save(session, comparison(beers=comparison().beers[:1]))
    with units.read() as session:
        assert measurements.of_comparison(session, "comparison01") == (sheet[0],)


def test_amendments_are_numbered_in_their_comparison(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
        comparisons.add(session, comparison("comparison02"))
        words = {"at": NOON, "person": "person000001", "what": "later", "reason": "snow"}
        assert amendments.add(session, "comparison01", **words) == 1
        assert amendments.add(session, "comparison02", **words) == 1
        assert amendments.add(session, "comparison01", **{**words, "what": "again"}) == 2
    with units.read() as session:
        first, second = amendments.of_comparison(session, "comparison01")
    assert (first.number, first.what, second.number, second.what) == (1, "later", 2, "again")
    assert first.made == NOON
