"""Power cuts: what may lie on the disk if the power goes at an instant of a recorded run.

SIGKILL leaves what the system still holds in memory; a power cut does not. From the writes and
syncs that a run has written down (tests/faults/recorded.py), and the files as they were before it,
the disk is made as it may have been between any two events:

    on the disk     what was written before a sync began that has ended since
    open            everything written since: each write is there, or not, or there in part (its
                    sectors of 512 bytes each by chance), whatever became of those before and after
                    it; so is each cutting off of a file's end

Taken for given: a sync that has ended has done what it says; a write touches no byte but its own
(SQLite's "powersafe overwrite", which it takes for given too); a file that was made or removed
stays so.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.faults.recorded import EVENT, GONE, NAME, SYNC_BEGINS, SYNC_ENDS, TRUNCATE, WRITE

SECTOR = 512
KEPT = (0.0, 0.3, 0.7, 0.95)
"""Shares of open writes that have reached the disk, of which each cut draws one."""

TORN = 0.2
"""Share of open writes that have reached it in part."""


@dataclass(frozen=True)
class Event:
    """One line of a recording; `moment` in nanoseconds of the steady clock, before it happened."""

    kind: int
    moment: int
    place: int
    file: int
    data: bytes


@dataclass
class File:
    """A file on the disk, and what was written to it and not synced."""

    content: bytearray
    there: bool = False
    pending: list[Event] = field(default_factory=list)
    syncing: list[int] = field(default_factory=list)
    """How many of the pending ones each sync under way covers."""

    def take(self, event: Event) -> None:
        if event.kind == SYNC_BEGINS:
            self.syncing.append(len(self.pending))
        elif event.kind == SYNC_ENDS:
            covered = self.syncing.pop(0)
            if event.place == 0:  # SQLITE_OK
                for one in self.pending[:covered]:
                    apply(self.content, one)
                del self.pending[:covered]
                self.syncing = [max(0, count - covered) for count in self.syncing]
        elif event.kind == GONE:
            self.content, self.there, self.pending = bytearray(), False, []
        else:
            self.there = True
            self.pending.append(event)

    def after_a_cut(self, chance: random.Random, kept: float) -> bytes:
        """What is found of it."""
        found = bytearray(self.content)
        for event in self.pending:
            if event.kind == WRITE and chance.random() < TORN:
                for part in _sectors(event):
                    if chance.random() < kept:
                        apply(found, part)
            elif chance.random() < kept:
                apply(found, event)
        return bytes(found)


def apply(content: bytearray, event: Event) -> None:
    """Does to the content what the event did to the file."""
    if event.kind == TRUNCATE:
        del content[event.place :]
        return
    if len(content) < event.place:
        content.extend(bytes(event.place - len(content)))
    content[event.place : event.place + len(event.data)] = event.data


def _sectors(event: Event) -> Iterator[Event]:
    start, end = event.place, event.place + len(event.data)
    while start < end:
        upto = min(end, (start // SECTOR + 1) * SECTOR)
        data = event.data[start - event.place : upto - event.place]
        yield Event(event.kind, event.moment, start, event.file, data)
        start = upto


def events(recording: Path) -> list[Event]:
    """The whole events of a recording; one that was cut off at its end did not happen."""
    found, place, all_ = [], 0, recording.read_bytes()
    while place + EVENT.size <= len(all_):
        kind, moment, where, length, file = EVENT.unpack_from(all_, place)
        place += EVENT.size
        if place + length > len(all_):
            break
        found.append(Event(kind, moment, where, file, all_[place : place + length]))
        place += length
    return found


def cuts(
    recording: Path, before: Path, after: Path, count: int, chance: random.Random, first: int = 0
) -> Iterator[int]:
    """Makes the folder `after` as a power cut may have left it, that many times, and yields the
    moment of each: what was acknowledged before it has to be there. `before` holds the files as
    they were; cuts fall between events that came after the moment `first`."""
    told = events(recording)
    places = [place for place in range(len(told) - 1) if told[place].moment > first]
    chosen = sorted(chance.sample(places, min(count, len(places))))
    files: dict[int, File] = {}
    names: dict[int, str] = {}
    done = 0
    for place in chosen:
        for event in told[done : place + 1]:
            if event.kind == NAME:
                names[event.file] = Path(event.data.decode()).name
                path = before / names[event.file]
                known = path.exists()
                files[event.file] = File(bytearray(path.read_bytes() if known else b""), known)
            else:
                files[event.file].take(event)
        done = place + 1
        kept = chance.choice(KEPT)
        for number, file in files.items():
            if file.there:
                (after / names[number]).write_bytes(file.after_a_cut(chance, kept))
            else:
                (after / names[number]).unlink(missing_ok=True)
        yield told[place + 1].moment
