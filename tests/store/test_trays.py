"""Trays and cups: found by number and card, never holding a token or a beer."""

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from panel.core.comparison import Cup
from panel.core.errors import PanelError
from panel.core.names import CardStanding, Reason
from panel.core.paper.payload import ref_of, short_hash, token_hash, tray_tokens
from panel.store import comparisons, trays
from tests.store.values import NOON, comparison, sitting, tokens, tray, with_trays


def test_trays_come_back_by_number_with_their_cups_in_order(units):
    kept = [
        tray(2, spare=True, standing=CardStanding.SET_ASIDE, reason=Reason.SPILLED, note="wet"),
        tray(1, taster="seat 4", version=3, handed_out=NOON),
        tray(3, cups=(Cup(2, "719"), Cup(1, "482"), Cup(3, "356"))),
    ]
    with units.begin() as session:
        comparisons.add(session, comparison())
        trays.add_many(session, "comparison01", kept, tokens(kept))
        trays.add_many(session, "comparison01", (), {})
    with units.read() as session:
        first, second, third = trays.of_comparison(session, "comparison01")
        assert trays.load(session, "comparison01", 2) == second
        assert trays.load(session, "comparison01", 4) is None
    assert (first, second) == (kept[1], kept[0])
    assert third.codes() == ("482", "719", "356")


def test_a_thousand_trays_take_two_statements_in_and_two_out(units, statements):
    with units.begin() as session:
        comparisons.add(session, comparison())
        many = [tray(n, cups=(Cup(1, "482"), Cup(2, "719"))) for n in range(1, 1001)]
        trays.add_many(session, "comparison01", many, tokens(many))
    with units.read() as session, statements() as asked:
        found = trays.of_comparison(session, "comparison01")
    assert list(found) == many
    assert len(asked) == 2


def test_a_sittings_trays_are_its_own(units):
    with units.begin() as session:
        two = (sitting("sitting00001"), sitting("sitting00002"))
        comparisons.add(session, comparison(sittings=two))
        many = [tray(1, "sitting00001"), tray(2, "sitting00002"), tray(3, "sitting00002")]
        trays.add_many(session, "comparison01", many, tokens(many))
        trays.set_standing(session, "comparison01", 3, CardStanding.HANDED_OUT, at=NOON)
    with units.read() as session:
        found = trays.of_sitting(session, "comparison01", "sitting00002")
        assert [one.number for one in found] == [2, 3]
        assert trays.counts(session, "comparison01") == {
            "sitting00001": {CardStanding.PRINTED: 1},
            "sitting00002": {CardStanding.PRINTED: 1, CardStanding.HANDED_OUT: 1},
        }


def test_a_tray_of_another_comparisons_sitting_is_refused(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
        comparisons.add(session, comparison("comparison02"))
    wrong = [tray(1, "comparison02-s")]
    with pytest.raises(PanelError), units.begin() as session:
        trays.add_many(session, "comparison01", wrong, tokens(wrong))


WRONG_CUPS = {
    "code twice": (Cup(1, "482"), Cup(2, "482")),
    "place twice": (Cup(1, "482"), Cup(1, "719")),
    "no place": (Cup(0, "482"),),
    "no code": (Cup(1, "48"),),
}


def test_cups_that_cannot_be_are_refused_by_the_database(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
    for cups in WRONG_CUPS.values():
        wrong = [tray(1, cups=cups)]
        with pytest.raises(PanelError), units.begin() as session:
            trays.add_many(session, "comparison01", wrong, tokens(wrong))
    with units.read() as session:
        assert trays.of_comparison(session, "comparison01") == ()


def test_a_card_is_found_by_what_is_printed_on_it(units):
    key = bytes(32)
    many = [tray(1), tray(2)]
    real = {one.number: tray_tokens(key, "comparison01", one.number, 1) for one in many}
    with units.begin() as session:
        comparisons.add(session, comparison())
        trays.add_many(session, "comparison01", many, real)
    token, code = real[2]
    with units.read() as session:
        found = trays.by_token_hash(session, token_hash(token))
        assert (found.comparison, found.tray.number, found.ref) == (
            "comparison01",
            2,
            ref_of(token),
        )
        assert trays.by_ref(session, ref_of(token)) == found
        assert trays.by_short_hash(session, short_hash(code)) == (found,)
        assert trays.refs(session, "comparison01")[2] == ref_of(token)
        assert trays.by_token_hash(session, token_hash("A" * 16)) is None
        assert trays.by_ref(session, "0" * 16) is None
        assert trays.by_short_hash(session, short_hash("AAAAAAAA")) == ()


def test_typed_codes_that_meet_by_chance_are_both_found(units):
    """40 bits may meet (contract of the typed code); a draw must not fail for it."""
    with units.begin() as session:
        for name in ("comparison01", "comparison02"):
            comparisons.add(session, comparison(name))
            same = {1: (f"TOKEN{name}", "ABCDEFGH")}
            trays.add_many(session, name, [tray(1, f"{name}-s")], same)
    with units.read() as session:
        found = trays.by_short_hash(session, short_hash("ABCDEFGH"))
    assert [one.comparison for one in found] == ["comparison01", "comparison02"]


def test_a_card_printed_anew_ends_the_old_one(units):
    with units.begin() as session:
        with_trays(session, 1)
        old = trays.refs(session, "comparison01")[1]
        trays.set_version(session, "comparison01", 1, 2, ("NEWTOKEN", "NEWCODE"))
    with units.read() as session:
        assert trays.by_ref(session, old) is None
        assert trays.by_token_hash(session, token_hash("NEWTOKEN")).tray.version == 2
        (found,) = trays.by_short_hash(session, short_hash("NEWCODE"))
        assert found.ref == ref_of("NEWTOKEN")


def test_the_database_holds_no_token(units):
    many = [tray(1)]
    with units.begin() as session:
        comparisons.add(session, comparison())
        trays.add_many(session, "comparison01", many, {1: ("RAWTOKEN", "RAWCODE")})
    with units.read() as session:
        row = session.execute(text("SELECT * FROM tray")).one()
    assert "RAW" not in repr(row)


def test_standings_of_one_and_of_many(units):
    with units.begin() as session:
        with_trays(session, 40)
        trays.set_standing(session, "comparison01", 1, CardStanding.HANDED_OUT, at=NOON)
        later = NOON + timedelta(minutes=5)
        trays.set_standing(session, "comparison01", 2, CardStanding.HANDED_OUT, at=later)
        trays.set_standing(
            session,
            "comparison01",
            2,
            CardStanding.SET_ASIDE,
            reason=Reason.MISFILLED,
            note="two of A",
        )
        trays.set_standing(
            session, "comparison01", range(3, 41), CardStanding.SET_ASIDE, reason=Reason.NEVER_USED
        )
        trays.set_standing(session, "comparison01", (), CardStanding.COUNTED)
    with units.read() as session:
        first, second, *rest = trays.of_comparison(session, "comparison01")
    assert (first.standing, first.reason) == (CardStanding.HANDED_OUT, None)
    assert (first.handed_out, second.handed_out) == (NOON, later)
    assert (second.reason, second.note) == (Reason.MISFILLED, "two of A")
    assert {(one.standing, one.reason) for one in rest} == {
        (CardStanding.SET_ASIDE, Reason.NEVER_USED)
    }


def test_a_standing_ends_the_reason_before_it(units):
    with units.begin() as session:
        with_trays(session, 1)
        trays.set_standing(
            session, "comparison01", 1, CardStanding.SET_ASIDE, reason=Reason.OTHER, note="x"
        )
        trays.set_standing(session, "comparison01", 1, CardStanding.PRINTED)
        found = trays.load(session, "comparison01", 1)
    assert (found.standing, found.reason, found.note) == (CardStanding.PRINTED, None, "")


def test_nicknames_are_erased_from_rows_and_disk(sqlite_units):
    """secure_delete overwrites what is erased; sweeping empties the log beside the file."""
    with sqlite_units.begin() as session:
        with_trays(session, 2)
        trays.set_taster(session, "comparison01", 1, "Quillfeather")
        trays.set_standing(
            session,
            "comparison01",
            2,
            CardStanding.SET_ASIDE,
            reason=Reason.OTHER,
            note="Marrowbone left",
        )
    with sqlite_units.begin() as session:
        assert trays.load(session, "comparison01", 1).taster == "Quillfeather"
        assert trays.erase_tasters(session, "comparison01") == 2
        assert trays.erase_tasters(session, "comparison01") == 0
    with sqlite_units.begin() as session:
        first, second = trays.of_comparison(session, "comparison01")
        assert (first.taster, second.note) == ("", "")
    folder = Path(sqlite_units.engine.url.database).parent
    assert b"Quillfeather" in on_disk(folder)  # the log still has the page as it was
    sqlite_units.sweep()
    assert b"Quillfeather" not in on_disk(folder)
    assert b"Marrowbone" not in on_disk(folder)


def on_disk(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in folder.iterdir() if path.is_file())
