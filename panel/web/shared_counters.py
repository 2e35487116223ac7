"""Counters of rates that all worker processes of one machine share, in a small file.

On SQLite there is one process, and its memory is enough; on PostgreSQL there may be several. The
file is no record: it may be lost with the machine's power, and is deleted at will. Keys hold
addresses and what proves a card, so only a keyed hash of them is written.
"""

import hmac
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from limits.storage import Storage

from panel.services.workplace import cookie_key
from panel.web.place import at
from panel.web.process_counters import ProcessCounters

FILE = "rates.db"
WAITS = 5.0
"""Seconds that one process waits for another's turn at the file."""

SCHEMA = "CREATE TABLE IF NOT EXISTS rate (key TEXT PRIMARY KEY, hits INTEGER, ends REAL)"
COUNT = (
    "INSERT INTO rate VALUES (:key, :amount, :ends) ON CONFLICT (key) DO UPDATE "
    "SET hits = hits + :amount RETURNING hits"
)


class SharedCounters(Storage):
    """For flask-limiter, as "panel://": memory for one process, a file for several."""

    STORAGE_SCHEME = ["panel"]  # noqa: RUF012

    def __init__(self, uri: str | None = None, wrap_exceptions: bool = False, **_: str) -> None:
        super().__init__(uri, wrap_exceptions)
        self.memory = ProcessCounters()

    @property
    def base_exceptions(self) -> type[Exception]:
        """What a file can throw; the limiter then counts in memory."""
        return sqlite3.Error

    def incr(self, key: str, expiry: int, amount: int = 1) -> int:
        """Counts; the sum within the window that is open, which ends `expiry` seconds after its
        first."""
        path = _file()
        if path is None:
            return self.memory.incr(key, expiry, amount)
        with _opened(path) as file:
            now = time.time()
            file.execute("DELETE FROM rate WHERE ends <= ?", (now,))
            counted = {"key": _hidden(key), "amount": amount, "ends": now + expiry}
            return int(file.execute(COUNT, counted).fetchone()[0])

    def get(self, key: str) -> int:
        """What was counted in the open window."""
        path = _file()
        return self.memory.get(key) if path is None else int(_row(path, key)[0])

    def get_expiry(self, key: str) -> float:
        """When the window ends, in seconds since 1970; now if none is open."""
        path = _file()
        return self.memory.get_expiry(key) if path is None else float(_row(path, key)[1])

    def check(self) -> bool:
        """Whether counting works; asked again after it failed."""
        path = _file()
        if path is not None:
            with _opened(path):
                pass
        return True

    def reset(self) -> int | None:
        """Forgets everything."""
        path = _file()
        if path is None:
            return self.memory.reset()
        with _opened(path) as file:
            return file.execute("DELETE FROM rate").rowcount

    def clear(self, key: str) -> None:
        """Forgets one."""
        path = _file()
        if path is None:
            self.memory.clear(key)
            return
        with _opened(path) as file:
            file.execute("DELETE FROM rate WHERE key = ?", (_hidden(key),))


def _file() -> Path | None:
    settings = at().settings
    return None if settings.database_url.startswith("sqlite") else settings.instance / FILE


def _hidden(key: str) -> str:
    return hmac.new(cookie_key(at()), f"rate {key}".encode(), "sha256").hexdigest()


def _row(path: Path, key: str) -> tuple[int, float]:
    now = time.time()
    with _opened(path) as file:
        question = "SELECT hits, ends FROM rate WHERE key = ? AND ends > ?"
        found = file.execute(question, (_hidden(key), now)).fetchone()
    return found or (0, now)


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    """One transaction on the file, as one process at a time."""
    with closing(sqlite3.connect(path, timeout=WAITS, isolation_level=None)) as file:
        file.execute("PRAGMA synchronous = OFF")
        file.execute("BEGIN IMMEDIATE")
        file.execute(SCHEMA)
        yield file
        file.execute("COMMIT")
