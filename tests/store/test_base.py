"""Columns refuse what would be stored wrongly."""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from sqlalchemy import text, update
from sqlalchemy.exc import StatementError

from panel.core.comparison import Beer
from panel.core.names import Standing
from panel.store import comparisons, sittings
from panel.store.tables_comparison import ComparisonRow
from tests.store.values import comparison, sitting


def test_a_naive_moment_is_refused(units):
    naive = datetime(2027, 3, 14, 12)
    with pytest.raises(StatementError, match="time zone"), units.begin() as session:
        comparisons.add(session, comparison(created=naive))


def test_a_moment_comes_back_in_utc_to_the_microsecond(units):
    zone = timezone(timedelta(hours=5, minutes=45))
    starts = datetime(2027, 3, 14, 2, 0, 0, 7, tzinfo=zone)
    with units.begin() as session:
        comparisons.add(session, comparison(sittings=(sitting(starts=starts),)))
    with units.read() as session:
        found = sittings.load(session, "comparison01", "sitting00001")
    assert found.starts == starts
    assert found.starts.utcoffset() == timedelta(0)
    assert found.starts == datetime(2027, 3, 13, 20, 15, 0, 7, tzinfo=UTC)


def test_a_foreign_word_is_refused_on_the_way_in_and_out(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
    change = update(ComparisonRow).values(standing="finished")
    with pytest.raises(StatementError, match="finished"), units.begin() as session:
        session.execute(change)
    with units.begin() as session:
        session.execute(text("UPDATE comparison SET standing = 'finished'"))
    with pytest.raises(ValueError, match="finished"), units.read() as session:
        comparisons.load(session, "comparison01")


def test_words_come_back_as_their_enum(units):
    with units.begin() as session:
        comparisons.add(session, comparison())
    with units.read() as session:
        assert comparisons.load(session, "comparison01").standing is Standing.DRAFTED


def test_a_decimal_keeps_every_digit(units):
    words = ["5.0", "5.00", "0.1", "1E+2", "12.3456789012345678901234567890"]
    beers = tuple(
        Beer(letter=letter, name=word, abv=Decimal(word))
        for letter, word in zip("ABCDE", words, strict=True)
    )
    with units.begin() as session:
        comparisons.add(session, comparison(beers=beers))
    with units.read() as session:
        found = comparisons.load(session, "comparison01").beers
    assert [str(beer.abv) for beer in found] == words


@pytest.mark.parametrize("wrong", [5.1, Decimal("NaN"), Decimal("Infinity")])
def test_what_is_no_exact_decimal_is_refused(sqlite_units, wrong):
    beers = (Beer(letter="A", name="Cool", abv=wrong),)
    with pytest.raises(StatementError, match="exact decimal"), sqlite_units.begin() as session:
        comparisons.add(session, comparison(beers=beers))
