"""One moment of the database as files: the data, and a manifest that says what must be in it.

SQLite gives a whole database file, PostgreSQL one line of JSON for each row; either can be read
back into either engine. The instance key is never among them.
"""

import hashlib
import json
import os
import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine
from sqlalchemy.orm import Session

from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.store import records
from panel.store.migrations import revision
from panel.store.plain_rows import Row, count_rows, rows_of
from panel.store.session import Units, in_words

MANIFEST = "manifest.json"
DATABASE = "panel.db"
ROWS = "rows.jsonl"

UNUSABLE = "backup-unusable"
"""Code of the refusal of files that are not what their manifest says."""


@dataclass(frozen=True, kw_only=True)
class Head:
    """The last line of a chain: how many lines there are, and the hash that stands for them."""

    lines: int
    hash: str


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """What a backup holds. `program` and `schema` wrote it, `made` is ISO 8601 in UTC, `files` are
    names to SHA-256 (hex), `counts` tables to rows, `heads` chains of the record to their ends."""

    program: str
    schema: str
    made: str
    files: Mapping[str, str]
    counts: Mapping[str, int]
    heads: Mapping[str, Head]

    @property
    def data(self) -> str:
        """The name of the file that holds the rows."""
        return DATABASE if DATABASE in self.files else ROWS


def take(units: Units, folder: Path, made: datetime, program: str) -> Manifest:
    """Write the database as it is at one moment, and its manifest, into an empty folder.

    Others may read and write meanwhile. PanelError (fault PLACE) if it cannot be written.
    """
    try:
        if units.engine.dialect.name == "sqlite":
            manifest = _of_sqlite(units.engine, folder, made, program)
        else:
            manifest = _of_postgresql(units, folder, made, program)
        words = json.dumps(asdict(manifest), ensure_ascii=False, indent=2, sort_keys=True)
        _write_through(folder / MANIFEST, [f"{words}\n".encode()])
    except (OSError, sqlite3.Error) as failure:
        raise PanelError(
            "backup-not-written",
            say(
                "The backup could not be written (%(why)s), and there is none of this moment. Is "
                "there room, and may this account write there?",
                why=str(failure),
            ),
            Fault.PLACE,
        ) from failure
    return manifest


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a backup whose files are what it says, byte for byte; PanelError if not."""
    try:
        words = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        words["heads"] = {name: Head(**head) for name, head in words["heads"].items()}
        manifest = Manifest(**words)
        whole = set(manifest.files) in ({DATABASE}, {ROWS})
        held = {name: hash_of(folder / name) for name in manifest.files} if whole else {}
    except (OSError, ValueError, TypeError, KeyError, AttributeError) as failure:
        raise unusable(str(say("it has no manifest that can be read"))) from failure
    for name, digest in manifest.files.items():
        if held.get(name) != digest:
            raise unusable(str(say("%(name)s is not the file that was written", name=name)))
    return manifest


def rows_in(folder: Path) -> Iterator[tuple[str, Row]]:
    """The rows of a backup of lines, as (table, row)."""
    with (folder / ROWS).open(encoding="utf-8") as lines:
        for line in lines:
            table, row = json.loads(line)
            yield table, row


@contextmanager
def opened(path: Path) -> Iterator[Connection]:
    """A connection to a database file that nobody writes, and that this leaves as it is."""
    uri = f"{path.absolute().as_uri()}?immutable=1"
    # Ours would switch the file to its own journal, and so change it.
    engine = create_engine(
        "sqlite://", creator=lambda: sqlite3.connect(uri, uri=True, check_same_thread=False)
    )
    try:
        with in_words(), engine.connect() as connection:
            yield connection
    finally:
        engine.dispose()


def prove(path: Path, manifest: Manifest) -> None:
    """PanelError unless a database file is whole and holds what the manifest says."""
    try:
        with opened(path) as connection:
            wrong = _wrong_in(connection, manifest)
    except PanelError as refusal:
        raise unusable(str(say("its database is damaged"))) from refusal
    if wrong:
        raise unusable(wrong)


def unusable(why: str) -> PanelError:
    """The refusal of a backup. why: the part of a sentence that says what is wrong with it."""
    return PanelError(
        UNUSABLE,
        say(
            "This backup cannot be used: %(why)s. Nothing was changed. Take another one.",
            why=why,
        ),
        Fault.PLACE,
    )


def hash_of(path: Path) -> str:
    """SHA-256 of a file, hex."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _wrong_in(connection: Connection, manifest: Manifest) -> str:
    """What is wrong with a database file, as a part of a sentence; "" if nothing is."""
    if connection.exec_driver_sql("PRAGMA integrity_check").scalars().all() != ["ok"]:
        return str(say("its database is damaged"))
    if connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
        return str(say("rows in it point at rows that are missing"))
    if revision(connection) != manifest.schema or count_rows(connection) != manifest.counts:
        return str(say("it does not hold the rows that its manifest counts"))
    with Session(connection) as session:
        for chain in records.chains(session):
            place = records.verify(session, chain)
            if place is not None:
                return str(
                    say("the record “%(chain)s” breaks at line %(place)s", chain=chain,
                        place=str(place))
                )  # fmt: skip
        if _heads(session) != manifest.heads:
            return str(say("its record does not end where its manifest says"))
    return ""


def _of_sqlite(engine: Engine, folder: Path, made: datetime, program: str) -> Manifest:
    path = folder / DATABASE
    connection = engine.raw_connection()
    try:
        with closing(connection.cursor()) as cursor:
            cursor.execute("PRAGMA query_only = OFF")
            # One read of the whole, while writers go on; what was erased is not in the copy.
            cursor.execute("VACUUM INTO ?", (str(path),))
    finally:
        connection.close()
    _sync(path)
    with opened(path) as copy, Session(copy) as session:
        return Manifest(
            program=program,
            schema=revision(copy) or "",
            made=_moment(made),
            files={DATABASE: hash_of(path)},
            counts=count_rows(copy),
            heads=_heads(session),
        )


def _of_postgresql(units: Units, folder: Path, made: datetime, program: str) -> Manifest:
    path = folder / ROWS
    counts: Counter[str] = Counter()
    with units.read() as session:
        connection = session.connection()
        _write_through(path, _lines(connection, counts))
        return Manifest(
            program=program,
            schema=revision(connection) or "",
            made=_moment(made),
            files={ROWS: hash_of(path)},
            counts=dict(counts),
            heads=_heads(session),
        )


def _lines(connection: Connection, counts: Counter[str]) -> Iterator[bytes]:
    for table, row in rows_of(connection):
        counts[table] += 1
        words = json.dumps([table, row], ensure_ascii=False, allow_nan=False)
        yield f"{words}\n".encode()


def _heads(session: Session) -> dict[str, Head]:
    ends = {chain: records.last(session, chain) for chain in records.chains(session)}
    return {chain: Head(lines=end.sequence, hash=end.hash) for chain, end in ends.items() if end}


def _moment(made: datetime) -> str:
    return made.astimezone(UTC).isoformat(timespec="seconds")


def _write_through(path: Path, parts: Iterable[bytes]) -> None:
    """Write a file and wait until the disk has it."""
    with path.open("xb") as file:
        file.writelines(parts)
        file.flush()
        os.fsync(file.fileno())


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())
