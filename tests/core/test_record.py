"""The record's hash chain, against a few lines of hashlib and json."""

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from panel.core.deeds import Deed
from panel.core.record import BEGINNING, first_broken, next_record

NOON = datetime(2027, 3, 14, 12, tzinfo=UTC)


def chain_of(length: int):
    lines = []
    for turn in range(length):
        last = lines[-1] if lines else None
        who = {"role": "organiser", "who": "person000001", "what": Deed.HANDED_OUT}
        lines.append(next_record(last, "c1", NOON, **who, subject=str(turn), detail={"n": turn}))
    return lines


def test_a_hash_is_what_the_docstring_says():
    """Computed without the project: SHA-256 of two lists as JSON without spaces."""
    line = chain_of(2)[1]
    told = ["2027-03-14T12:00:00.000000+00:00", "organiser", "person000001", "1", '{"n":1}']
    words = ["c1", 2, "handed-out", sha256(told), chain_of(1)[0].hash]
    assert line.hash == sha256(words)


def sha256(words: list[object]) -> str:
    text = json.dumps(words, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def test_moments_are_written_in_utc():
    east = datetime(2027, 3, 14, 17, 45, tzinfo=timezone(timedelta(hours=5, minutes=45)))
    line = next_record(None, "c1", east, role="steward", who="x", what=Deed.CLOSED)
    assert line.at == "2027-03-14T12:00:00.000000+00:00"
    assert line.previous == BEGINNING


def test_a_naive_moment_is_refused():
    with pytest.raises(ValueError, match="time zone"):
        next_record(
            None, "c1", NOON.replace(tzinfo=None), role="steward", who="x", what=Deed.CLOSED
        )


def test_a_whole_chain_is_whole():
    assert first_broken([]) is None
    assert first_broken(chain_of(5)) is None


@pytest.mark.parametrize("place", [1, 3, 5])
@pytest.mark.parametrize(
    "change",
    [
        {"at": "2027-03-14T12:00:01.000000+00:00"},
        {"role": "steward"},
        {"who": "person000002"},
        {"what": "closed"},
        {"subject": "9"},
        {"detail": '{"n":9}'},
        {"previous": "f" * 64},
        {"hash": "f" * 64},
        {"chain": "c2"},
        {"sequence": 9},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_changed_line_breaks_the_chain_there(place, change):
    lines = chain_of(5)
    lines[place - 1] = replace(lines[place - 1], **change)
    assert first_broken(lines) == place


@pytest.mark.parametrize("place", [1, 3])
def test_a_missing_added_or_moved_line_breaks_it(place):
    lines = chain_of(5)
    assert first_broken(lines[: place - 1] + lines[place:]) == place
    assert first_broken([*lines[:place], lines[place - 1], *lines[place:]]) == place + 1
    assert first_broken([*lines[: place - 1], lines[place], *lines[place - 1 :]]) == place


def test_a_rewritten_line_needs_every_later_line_rewritten():
    """Somebody who computes the changed line's hash anew breaks the next line instead."""
    lines = chain_of(4)
    who = {"role": "organiser", "who": "person000002", "what": Deed.HANDED_OUT}
    lines[1] = next_record(lines[0], "c1", NOON, **who, subject="1", detail={"n": 1})
    assert first_broken(lines) == 3
