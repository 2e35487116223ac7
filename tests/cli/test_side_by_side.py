"""Files are read two at a time, told of in order, and never far ahead."""

from collections.abc import Iterator
from pathlib import Path
from threading import Barrier, Event

import pytest

from panel.cli.side_by_side import AHEAD, side_by_side


def test_two_files_are_read_at_the_same_time_and_told_of_in_order() -> None:
    both = Barrier(2, timeout=10)

    def pages_of(file: Path) -> Iterator[str]:
        both.wait()
        yield f"{file} 1"
        yield f"{file} 2"

    told = [list(pages) for _, pages in side_by_side([Path("a"), Path("b")], pages_of)]
    assert told == [["a 1", "a 2"], ["b 1", "b 2"]]


def test_what_cannot_be_read_is_raised_in_its_turn_and_the_next_goes_on() -> None:
    def pages_of(file: Path) -> Iterator[str]:
        yield f"{file} 1"
        if file == Path("a"):
            raise ValueError("torn")

    told = []
    for file, pages in side_by_side([Path("a"), Path("b")], pages_of):
        try:
            told += list(pages)
        except ValueError as torn:
            told.append(f"{file} {torn}")
    assert told == ["a torn", "b 1"]


def test_a_file_that_is_ahead_waits_for_its_turn() -> None:
    begun: list[int] = []
    full = Event()

    def pages_of(file: Path) -> Iterator[int]:
        for number in range(10 * AHEAD if file == Path("b") else 1):
            begun.append(number)
            if number == AHEAD:
                full.set()
            yield number

    files = side_by_side([Path("a"), Path("b")], pages_of)
    _, first = next(files)
    assert full.wait(10)
    assert list(first) == [0]
    assert len(begun) <= AHEAD + 2
    _, second = next(files)
    assert list(second) == list(range(10 * AHEAD))
    with pytest.raises(StopIteration):
        next(files)
