"""Two files are read at the same time, on two cores, and told of in their own order.

Each file has a process of its own that reads it (panel/scanning/apart.py); here a thread waits for
each. A file that is ahead of its turn stops after a few pages, so that memory stays flat.
"""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import Generic, TypeVar

AHEAD = 8
"""Pages of a file that are kept before anybody has asked for them."""

Page = TypeVar("Page")
Pages = Callable[[Path], Iterable[Page]]


class _Reading(Generic[Page]):
    """One file that is being read."""

    def __init__(self, file: Path, pages_of: Pages[Page]) -> None:
        self.file = file
        self.pages_of = pages_of
        self.queue: Queue[Page | BaseException | None] = Queue(AHEAD)
        Thread(target=self._read, daemon=True).start()  # the command may be broken off

    def _read(self) -> None:
        try:
            for page in self.pages_of(self.file):
                self.queue.put(page)
        except BaseException as failure:  # raised again in its turn
            self.queue.put(failure)
        else:
            self.queue.put(None)

    def pages(self) -> Iterator[Page]:
        """Its pages; what reading it raised, once the pages before are told."""
        while (one := self.queue.get()) is not None:
            if isinstance(one, BaseException):
                raise one
            yield one


def side_by_side(
    files: Iterable[Path], pages_of: Pages[Page]
) -> Iterator[tuple[Path, Iterator[Page]]]:
    """Each file with its pages, in order. Take all pages of one before the next."""
    before: _Reading[Page] | None = None
    for file in files:
        ahead = _Reading(file, pages_of)
        if before is not None:
            yield before.file, before.pages()
        before = ahead
    if before is not None:
        yield before.file, before.pages()
