"""The real service, every write and every sync of its SQLite files written down as they happen.

    python -m tests.faults.recorded host --instance FOLDER …     (else as `python -m panel`)

    RECORDED        the file that gets the events
    SYNCHRONOUS     OFF or NORMAL instead of FULL, as positive controls: the files are not synced at
                    all, or not at every commit
    LOG_PAGES       copy the log into the file after so many pages, not after our own number

The layer between SQLite and the system (its VFS, sqlite.org/vfs.html) is put on from outside, with
ctypes, in the very library that Python's sqlite3 uses: SQLite, driver and service are the real
ones, and nothing has to be compiled. `tests/faults/power.py` reads the events.
"""

import ctypes
import os
import sqlite3
import struct
import sys
import threading
import time
from pathlib import Path
from typing import Any, BinaryIO

from panel.cli import main
from panel.store import session

WRITE, TRUNCATE, SYNC_BEGINS, SYNC_ENDS, NAME, GONE = range(1, 7)
EVENT = struct.Struct("<BqqII")
"""Kind, nanoseconds of the steady clock, offset or new size, length of what follows, file."""

WATCHED = 0x100 | 0x800 | 0x80000  # SQLITE_OPEN_MAIN_DB, _MAIN_JOURNAL, _WAL
BROKEN = 70
"""Exit status where an event could not be written down: nothing may go on unseen."""

Pointer, Int, Long = ctypes.c_void_p, ctypes.c_int, ctypes.c_int64
Open = ctypes.CFUNCTYPE(Int, Pointer, Pointer, Pointer, Int, Pointer)
Delete = ctypes.CFUNCTYPE(Int, Pointer, ctypes.c_char_p, Int)
Write = ctypes.CFUNCTYPE(Int, Pointer, Pointer, Int, Long)
Truncate = ctypes.CFUNCTYPE(Int, Pointer, Long)
Sync = ctypes.CFUNCTYPE(Int, Pointer, Int)


class Vfs(ctypes.Structure):
    """sqlite3_vfs, version 3."""

    _fields_ = [
        ("version", Int),
        ("file_size", Int),
        ("longest_path", Int),
        ("next", Pointer),
        ("name", ctypes.c_char_p),
        ("data", Pointer),
        ("open", Pointer),
        ("delete", Pointer),
        *((f"other_{place}", Pointer) for place in range(14)),
    ]


class Methods(ctypes.Structure):
    """sqlite3_io_methods, version 3."""

    _fields_ = [
        ("version", Int),
        ("close", Pointer),
        ("read", Pointer),
        ("write", Pointer),
        ("truncate", Pointer),
        ("sync", Pointer),
        *((f"other_{place}", Pointer) for place in range(13)),
    ]


def library() -> ctypes.CDLL | None:
    """SQLite as Python's own module has loaded it; None where it cannot be got at."""
    maps = Path("/proc/self/maps")
    if not maps.exists():
        return None
    lines = [line for line in maps.read_text().splitlines() if "sqlite3" in line]
    paths = {line.split(maxsplit=5)[5] for line in lines}
    for path in sorted(paths, key=lambda one: "libsqlite3" not in one):
        found = ctypes.CDLL(path)
        if hasattr(found, "sqlite3_vfs_find"):
            found.sqlite3_libversion.restype = ctypes.c_char_p
            assert found.sqlite3_libversion().decode() == sqlite3.sqlite_version
            return found
    return None


class Recorder:
    """Passes everything on to the system's own layer, and writes down what changes files."""

    def __init__(self, sqlite: ctypes.CDLL, out: BinaryIO) -> None:
        self.out = out
        self.lock = threading.Lock()
        self.names: dict[str, int] = {}
        self.files: dict[int, int] = {}
        self.methods: dict[int, Methods] = {}
        self.kept: list[Any] = []  # what C points at
        sqlite.sqlite3_vfs_find.restype = ctypes.POINTER(Vfs)
        real = sqlite.sqlite3_vfs_find(None)
        self.open, self.delete = Open(real.contents.open), Delete(real.contents.delete)
        mine = Vfs.from_buffer_copy(real.contents)
        mine.name = b"recorded"
        mine.open = self._as_pointer(Open(self._opened))
        mine.delete = self._as_pointer(Delete(self._deleted))
        self.kept.append(mine)
        assert sqlite.sqlite3_vfs_register(ctypes.byref(mine), 1) == 0

    def _as_pointer(self, function: Any) -> int | None:
        self.kept.append(function)
        return ctypes.cast(function, Pointer).value

    def _told(self, kind: int, file: int, place: int = 0, data: bytes = b"") -> None:
        """Under the lock, so that what is written down has the order of what happened."""
        try:
            head = EVENT.pack(kind, time.monotonic_ns(), place, len(data), file)
            self.out.write(head + data)
        except BaseException:
            os._exit(BROKEN)

    def _opened(self, vfs: int, name: int | None, file: int, flags: int, out: int | None) -> int:
        status = self.open(vfs, name, file, flags, out)
        if status or not flags & WATCHED or name is None:
            return status
        slot = Pointer.from_address(file)
        assert slot.value is not None
        with self.lock:
            path = ctypes.string_at(name).decode()
            if path not in self.names:
                self.names[path] = len(self.names)
                self._told(NAME, self.names[path], data=path.encode())
            self.files[file] = self.names[path]
            if slot.value not in self.methods:
                self.methods[slot.value] = self._recorded(slot.value)
        slot.value = ctypes.addressof(self.methods[slot.value])
        return status

    def _recorded(self, real: int) -> Methods:
        """The methods of a file, three of them with a record."""
        theirs = Methods.from_address(real)
        write, truncate = Write(theirs.write), Truncate(theirs.truncate)
        sync = Sync(theirs.sync)

        def written(file: int, data: int, length: int, offset: int) -> int:
            with self.lock:
                self._told(WRITE, self.files[file], offset, ctypes.string_at(data, length))
                return write(file, data, length, offset)

        def truncated(file: int, size: int) -> int:
            with self.lock:
                self._told(TRUNCATE, self.files[file], size)
                return truncate(file, size)

        def synced(file: int, flags: int) -> int:
            with self.lock:
                self._told(SYNC_BEGINS, self.files[file])
            status = sync(file, flags)
            with self.lock:
                self._told(SYNC_ENDS, self.files[file], status)
            return status

        mine = Methods.from_buffer_copy(theirs)
        mine.write = self._as_pointer(Write(written))
        mine.truncate = self._as_pointer(Truncate(truncated))
        mine.sync = self._as_pointer(Sync(synced))
        return mine

    def _deleted(self, vfs: int, name: bytes, sync: int) -> int:
        with self.lock:
            if name.decode() in self.names:
                self._told(GONE, self.names[name.decode()])
        return self.delete(vfs, name, sync)


SYNCHRONOUS = {"OFF": 0, "NORMAL": 1, "FULL": 2}


def _other_settings() -> None:
    word = os.environ.get("SYNCHRONOUS", "FULL")
    changed = {"synchronous": (word, SYNCHRONOUS[word])}
    if "LOG_PAGES" in os.environ:
        pages = os.environ["LOG_PAGES"]
        changed["wal_autocheckpoint"] = (pages, int(pages))
    session.PRAGMAS = tuple(  # type: ignore[assignment]
        (name, *changed.get(name, (word, read_back))) for name, word, read_back in session.PRAGMAS
    )


if __name__ == "__main__":
    sqlite = library()
    if sqlite is None:
        sys.exit("SQLite's library cannot be got at")
    _other_settings()
    with Path(os.environ["RECORDED"]).open("wb", buffering=0) as events:
        recorder = Recorder(sqlite, events)
        main()
