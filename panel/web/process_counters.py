"""Counters of rates in the memory of one process, for windows that begin with their first hit.

The library's own start a thread every hundredth of a second that goes through every counter there
is: with one for each tray of a hall that took more time than the ballots.
"""

import time
from threading import Lock

from limits.storage import Storage

SWEPT_EVERY = 10.0
"""Seconds after which closed windows are let go of."""


class ProcessCounters(Storage):
    """For flask-limiter, as "panel-process://"."""

    STORAGE_SCHEME = ["panel-process"]  # noqa: RUF012

    def __init__(self, uri: str | None = None, wrap_exceptions: bool = False, **_: str) -> None:
        super().__init__(uri, wrap_exceptions)
        self._windows: dict[str, tuple[int, float]] = {}
        self._lock = Lock()
        self._sweeps = 0.0

    @property
    def base_exceptions(self) -> type[Exception]:
        """What memory can throw."""
        return MemoryError

    def incr(self, key: str, expiry: int, amount: int = 1) -> int:
        """Counts; the sum within the window that is open, which ends `expiry` seconds after its
        first."""
        now = time.time()
        with self._lock:
            if now >= self._sweeps:
                self._windows = {name: one for name, one in self._windows.items() if one[1] > now}
                self._sweeps = now + SWEPT_EVERY
            hits, ends = self._windows.get(key, (0, 0.0))
            hits, ends = (hits + amount, ends) if ends > now else (amount, now + expiry)
            self._windows[key] = hits, ends
            return hits

    def get(self, key: str) -> int:
        """What was counted in the open window."""
        return self._open(key)[0]

    def get_expiry(self, key: str) -> float:
        """When the window ends, in seconds since 1970; now if none is open."""
        return self._open(key)[1]

    def check(self) -> bool:
        """Memory is always there."""
        return True

    def reset(self) -> int | None:
        """Forgets everything."""
        with self._lock:
            count = len(self._windows)
            self._windows = {}
        return count

    def clear(self, key: str) -> None:
        """Forgets one."""
        with self._lock:
            self._windows.pop(key, None)

    def _open(self, key: str) -> tuple[int, float]:
        now = time.time()
        hits, ends = self._windows.get(key, (0, 0.0))
        return (hits, ends) if ends > now else (0, now)
