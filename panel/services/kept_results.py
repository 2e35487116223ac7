"""Results that were reckoned, kept for the next who looks: a hall opens the same page at once.

Whatever is done to a comparison appends to its record, so what was reckoned of the same comparison
under the same end of its record still holds. Nothing here may tell of a single taster: what is
erased in the database would go on living here.
"""

from collections.abc import Callable
from threading import Lock
from typing import Generic, TypeVar

from panel.core.comparison import Comparison

T = TypeVar("T")

MOST = 48
"""Comparisons whose results are kept; the one that was kept first goes first. More than stand side
by side on a page of the archive."""


class KeptResults(Generic[T]):
    """Of one installation, in the memory of one process."""

    def __init__(self) -> None:
        self._reckoning = Lock()
        self._kept: dict[str, tuple[Comparison, str, T]] = {}

    def of(self, known: Comparison, end: str, reckon: Callable[[], T]) -> T:
        """What `reckon` gives. known: as the database has it now. end: the hash of the last line of
        its record now. One at a time reckons, so that those who wait find it done."""
        found = self._found(known, end)
        if found is None:
            with self._reckoning:
                found = self._found(known, end)
                if found is None:
                    found = (reckon(),)
                    self._keep(known, end, found[0])
        return found[0]

    def _found(self, known: Comparison, end: str) -> tuple[T] | None:
        kept = self._kept.get(known.id)
        return (kept[2],) if kept is not None and kept[:2] == (known, end) else None

    def _keep(self, known: Comparison, end: str, result: T) -> None:
        self._kept.pop(known.id, None)
        self._kept[known.id] = (known, end, result)
        while len(self._kept) > MOST:
            del self._kept[next(iter(self._kept))]
