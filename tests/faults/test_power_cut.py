"""The power goes: whatever was not synced is lost, kept or torn by chance, and no ballot that was
acknowledged. With syncing switched off some are: otherwise the test would be blind."""

from pathlib import Path

import pytest

from tests.faults.power import SECTOR, Event, File
from tests.faults.power_cuts import power_cuts
from tests.faults.recorded import SYNC_BEGINS, SYNC_ENDS, TRUNCATE, WRITE, library

needs_library = pytest.mark.skipif(
    library() is None, reason="Python's SQLite is not a library of its own on this system"
)


@needs_library
def test_no_power_cut_loses_an_acknowledged_ballot(tmp_path: Path) -> None:
    seen = power_cuts(tmp_path, 20, "a fuse", forms=80)
    assert seen.wrong == []
    assert seen.cuts == 20
    assert seen.acknowledged > 20 * 10
    assert seen.events[SYNC_ENDS] > 20


@needs_library
def test_without_syncing_power_cuts_lose_ballots(tmp_path: Path) -> None:
    seen = power_cuts(tmp_path, 8, "a fuse", forms=40, SYNCHRONOUS="OFF")
    assert seen.events[SYNC_ENDS] == 0
    assert seen.lost > 4


# --- what a cut leaves ---------------------------------------------------------------------------


def write(place: int, data: bytes) -> Event:
    return Event(WRITE, 0, place, 0, data)


def sync(*kinds: int) -> list[Event]:
    return [Event(kind, 0, 0, 0, b"") for kind in kinds]


class Kept:
    """Chance that always says the same."""

    def __init__(self, number: float) -> None:
        self.number = number

    def random(self) -> float:
        return self.number


def test_only_what_a_sync_covered_is_sure() -> None:
    """A write that came while a sync was under way is not covered by it."""
    file = File(bytearray(b"old"))
    begins, ends = sync(SYNC_BEGINS, SYNC_ENDS)
    for event in (write(0, b"new"), begins, write(3, b"er"), ends):
        file.take(event)
    assert file.after_a_cut(Kept(0.99), kept=0.5) == b"new"
    assert file.after_a_cut(Kept(0.40), kept=0.5) == b"newer"


def test_a_sync_that_failed_covers_nothing() -> None:
    file = File(bytearray(b"old"))
    for event in (write(0, b"new"), *sync(SYNC_BEGINS), Event(SYNC_ENDS, 0, 10, 0, b"")):
        file.take(event)
    assert file.after_a_cut(Kept(0.99), kept=0.5) == b"old"


def test_cutting_the_end_off_may_be_undone() -> None:
    file = File(bytearray(b"long"))
    file.take(Event(TRUNCATE, 0, 2, 0, b""))
    assert file.after_a_cut(Kept(0.99), kept=0.5) == b"long"
    assert file.after_a_cut(Kept(0.40), kept=0.5) == b"lo"


def test_a_write_may_reach_the_disk_in_part() -> None:
    """By sectors of the disk, not of the write."""

    class EveryOther:
        def __init__(self) -> None:
            self.drawn = iter([0.0, 0.0, 0.9, 0.0])  # torn; then its sectors

        def random(self) -> float:
            return next(self.drawn)

    file = File(bytearray(3 * SECTOR))
    file.take(write(SECTOR // 2, b"x" * 2 * SECTOR))
    found = file.after_a_cut(EveryOther(), kept=0.5)
    half = SECTOR // 2
    assert found == bytes(half) + b"x" * half + bytes(SECTOR) + b"x" * half + bytes(half)
