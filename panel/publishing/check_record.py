"""Record and amendments: the chain is whole, and tells of the same seal, ballots and changes."""

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from panel.core.allocation.seal import canonical
from panel.core.amendment import words_hash
from panel.core.deeds import OF_ONE_TRAY, Deed
from panel.core.message import Message, say, say_n
from panel.core.names import Role
from panel.core.record import BEGINNING, Record, chained
from panel.core.sight_of_key import Seen, Sighted, sighted_of
from panel.publishing.bundle_columns import ballots_table
from panel.publishing.bundle_facts import amendments_words
from panel.publishing.bundle_reading import json_of
from panel.publishing.bundle_rebuilt import Rebuilt, rows_of
from panel.publishing.check_line import CheckLine, right, wrong

Lines = list[Mapping[str, Any]]


def check_amendments(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[CheckLine]:
    """What was changed after sealing is listed alike in both places, as the record has it."""
    listed = json_of(files["amendments.json"])
    published = json_of(files["findings.json"])["amendments"]
    lines = _of(_lines(files), Deed.AMENDED)
    recorded = [(line["subject"], json_of(line["detail"].encode())["words"]) for line in lines]
    made = [(str(one.number), words_hash(one.what, one.reason)) for one in known.amendments]
    if listed != published or listed != amendments_words(known.amendments):
        yield wrong("amendments", say("amendments.json and findings.json list other changes."))
    elif recorded != made:
        yield wrong("amendments", say("amendments.json lists other changes than the record."))
    elif not made:
        yield right("amendments", say("Nothing was changed after sealing, by the record."))
    else:
        yield right(
            "amendments",
            say_n(
                "The one change after sealing is listed with its reason, as recorded.",
                "The %(count)s changes after sealing are listed with their reasons, as recorded.",
                len(made),
            ),
        )


def check_record(files: Mapping[str, bytes], known: Rebuilt) -> Iterator[CheckLine]:
    """Every line follows from the one before, from the first to publication."""
    lines = _lines(files)
    broken = _first_broken(json_of(files["records.json"]), known.comparison.id)
    if broken:
        yield wrong("record", broken)
        return
    odd = _tells_otherwise(files, known, lines) or _seen_otherwise(known, lines)
    if odd:
        yield wrong("record", odd)
        return
    yield right(
        "record",
        say_n(
            "The one line of the record is whole; it ends with %(head)s.",
            "All %(count)s lines of the record follow from each other; the last is %(head)s.",
            len(lines),
            head=str(json_of(files["records.json"])["head"])[:16],
        ),
    )


def _lines(files: Mapping[str, bytes]) -> Lines:
    lines: Lines = json_of(files["records.json"])["lines"]
    return lines


def _of(lines: Lines, *deeds: Deed) -> Lines:
    return [line for line in lines if line["what"] in deeds]


def _first_broken(record: Mapping[str, Any], comparison: str) -> Message | None:
    """Where the chain breaks; None if it is whole."""
    previous = BEGINNING
    for place, line in enumerate(record["lines"], start=1):
        told = line["told"] if line["what"] in OF_ONE_TRAY else _told(line)
        expected = chained(comparison, place, line["what"], told, previous)
        if line["sequence"] != place or line["hash"] != expected:
            return say("The record's chain breaks at line %(line)s.", line=place)
        previous = line["hash"]
    if (record["chain"], record["head"], record["count"]) != (
        comparison,
        previous,
        len(record["lines"]),
    ):
        return say("The record's chain does not end where it says.")
    return None


def _told(line: Mapping[str, Any]) -> str:
    words = [line["at"], line["role"], line["who"], line["subject"], line["detail"]]
    return hashlib.sha256(canonical(words)).hexdigest()


def _tells_otherwise(files: Mapping[str, bytes], known: Rebuilt, lines: Lines) -> Message | None:
    """What record and result do not agree in; None if nothing."""
    sealed, opened = _of(lines, Deed.SEALED), _of(lines, Deed.SITTING_OPENED)
    seal = known.comparison.seal
    digests = [json_of(line["detail"].encode())["seal"] for line in sealed]
    if digests != [seal.digest if seal else ""]:
        return say("The record tells of another seal.")
    if opened and opened[0]["sequence"] < sealed[0]["sequence"]:
        return say("By the record a sitting opened before the seal was made.")
    if not lines or lines[-1]["what"] != Deed.PUBLISHED or not _of(lines, Deed.CLOSED):
        return say("The record does not end with closing and publication.")
    rows = rows_of(ballots_table(known.comparison.plan), files["ballots.csv"])
    late = Counter(row["counts_as"] == "late" for row in rows)
    taken = Counter(line["what"] for line in lines)
    if taken[Deed.BALLOT_TAKEN] < late[False]:
        return say("ballots.csv has more ballots in time than the record.")
    if taken[Deed.BALLOT_LATE] < len(known.result().late):
        return say("late.csv has more ballots than the record.")
    return None


def _seen_otherwise(known: Rebuilt, lines: Lines) -> Message | None:
    """Whether comparison.json tells of others who saw the key than the record, or of more that
    they did than there are lines; None if not. Who did what to which tray is not published."""
    before = [line for line in lines if line["what"] not in OF_ONE_TRAY]
    shown = sighted_of(_as_record(line, known.comparison.id) for line in before)
    if _sights(shown) != _sights(known.sighted):
        return say("comparison.json tells of others who saw the key than the record.")
    taken = Counter(line["what"] for line in lines)
    for deed, done in _DONE.items():
        if sum(map(done, known.sighted)) > taken[deed]:
            return say(
                "comparison.json has more lines “%(deed)s” of people who saw the key than the "
                "record.",
                deed=str(deed),
            )
    return None


_DONE: dict[Deed, Callable[[Sighted], int]] = {
    Deed.TRAY_REVEALED: lambda one: one.trays,
    Deed.QUESTION_SETTLED: lambda one: one.settled,
    Deed.SET_ASIDE: lambda one: one.set_aside,
    Deed.TAKEN_BACK: lambda one: one.taken_back,
    Deed.BALLOT_TAKEN: lambda one: one.keyed,
    Deed.HANDED_OUT: lambda one: sum(trays for _, trays in one.handed_out),
}


def _sights(people: Iterable[Sighted]) -> Counter[tuple[Role, tuple[Seen, ...]]]:
    """Who saw what, without those who only opened a tray: their lines tell no names."""
    return Counter((one.role, one.seen) for one in people if one.seen)


def _as_record(line: Mapping[str, Any], chain: str) -> Record:
    return Record(
        chain=chain,
        sequence=line["sequence"],
        at=line["at"],
        role=line["role"],
        who=line["who"],
        what=line["what"],
        subject=line["subject"],
        detail=line["detail"],
        previous="",
        hash=line["hash"],
    )
