"""The record's hash chain: each line holds the hash of the line before it.

With [...] for the canonical JSON of a list (core.allocation.seal.canonical):

    told = SHA-256([at, role, who, subject, detail])
    hash = SHA-256([chain, sequence, what, told, previous hash])

There are two steps so that a chain can be published whole and checked by anybody although some of
its lines do not say when and by whom: of these only `told` is shown. The first line's previous
hash is 64 zeros. A line that is changed, taken out, put in or moved
breaks the chain at its place. Lines cut off at the end leave a whole chain: keep the last hash
elsewhere (the report prints it) to see that.
"""

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from panel.core.allocation.seal import canonical
from panel.core.deeds import Deed

INSTANCE = "instance"
"""The chain of what belongs to no comparison; every comparison's chain has its id as name."""

BEGINNING = "0" * 64
PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:/+-]{0,127}|")
"""Ids, hashes, numbers, words of closed lists, or nothing: no spaces, so no sentence fits."""

Fact = int | str | bool | None


@dataclass(frozen=True, kw_only=True)
class Record:
    """One line, in the words that were hashed: `at` is ISO 8601 in UTC with microseconds, `detail`
    canonical JSON, `who` the id of a person or an invitation."""

    chain: str
    sequence: int
    at: str
    role: str
    who: str
    what: str
    subject: str
    detail: str
    previous: str
    hash: str


def moment_text(moment: datetime) -> str:
    """A moment (aware) as it stands in a line: UTC, ISO 8601 with microseconds."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def next_record(
    last: Record | None,
    chain: str,
    at: datetime,
    *,
    role: str,
    who: str,
    what: Deed,
    subject: str = "",
    detail: Mapping[str, Fact] | None = None,
) -> Record:
    """The line that follows `last` in its chain.

    ValueError for anything that reads like a name or free words: the record can never be erased.
    """
    facts = dict(detail or {})
    for word in (chain, role, who, subject, *facts, *facts.values()):
        if isinstance(word, str) and not PLAIN.fullmatch(word):
            raise ValueError(f"the record takes ids and numbers only, not {word!r}")
    if at.tzinfo is None:
        raise ValueError("a moment needs its time zone")
    unhashed = Record(
        chain=chain,
        sequence=last.sequence + 1 if last else 1,
        at=moment_text(at),
        role=str(role),
        who=who,
        what=what.value,
        subject=subject,
        detail=canonical(facts).decode("utf-8"),
        previous=last.hash if last else BEGINNING,
        hash="",
    )
    return Record(**{**unhashed.__dict__, "hash": hash_of(unhashed)})


def hash_of(record: Record) -> str:
    """The hash that this line must have."""
    return chained(record.chain, record.sequence, record.what, told_of(record), record.previous)


def told_of(record: Record) -> str:
    """The hash of what a line tells beside its deed: when, who, of what."""
    return _sha256([record.at, record.role, record.who, record.subject, record.detail])


def chained(chain: str, sequence: int, what: str, told: str, previous: str) -> str:
    """The hash of a line of which no more is known than its deed and `told`."""
    return _sha256([chain, sequence, what, told, previous])


def _sha256(words: list[str | int]) -> str:
    return hashlib.sha256(canonical(words)).hexdigest()


def first_broken(records: Iterable[Record]) -> int | None:
    """The place in a chain, counted from 1, at which it breaks first; None if it is whole.

    records: all lines of one chain by sequence.
    """
    previous = BEGINNING
    for place, record in enumerate(records, start=1):
        follows = record.sequence == place and record.previous == previous
        if not follows or record.hash != hash_of(record):
            return place
        previous = record.hash
    return None
