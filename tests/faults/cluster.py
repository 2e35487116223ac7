"""A PostgreSQL of the test's own, on a free port of loopback, that keeps what it confirms: started,
killed, started again. Nothing of Debian's own cluster commands is used."""

import os
import random
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
from sqlalchemy import create_engine
from sqlalchemy.orm import Session

from tests.faults.service import Service

STARTS_WITHIN = 60.0
SHARES = {"the service": 0.4, "the database server": 0.4, "both": 0.2}
"""What is killed, and how often."""


def programs() -> Path | None:
    """The folder of the newest PostgreSQL server's programs; None where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    beside = shutil.which("initdb")
    return found[-1].parent if found else Path(beside).parent if beside else None


class Cluster:
    """The server. It will not run as root, so root lends it the account `postgres`."""

    def __init__(self) -> None:
        where = programs()
        assert where is not None
        self.programs = where
        self.folder = Path(tempfile.mkdtemp(prefix="panel-cluster-"))
        self.account: dict[str, Any] = {}
        if os.geteuid() == 0:
            self.account = {"user": "postgres", "group": "postgres", "extra_groups": []}
            shutil.chown(self.folder, "postgres", "postgres")
        made = [self.programs / "initdb", "-D", self.folder / "data", "-U", "panel", "-A", "trust"]
        made += ["-E", "UTF8", "--locale=C.UTF-8", "--data-checksums"]
        subprocess.run(made, check=True, stdout=subprocess.DEVNULL, cwd="/", **self.account)
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = int(free.getsockname()[1])
        self.process: subprocess.Popen[bytes] | None = None
        self.seconds: list[float] = []
        self.start()

    def start(self) -> None:
        """Returns once it takes connections, recovered by itself from however it went."""
        begun = time.monotonic()
        while self.process is None or self.process.poll() is not None:
            # What an earlier one has left may hold its memory for a moment: then it is tried anew.
            assert time.monotonic() - begun < STARTS_WITHIN
            with (self.folder / "log").open("ab") as log:
                self.process = subprocess.Popen(
                    [
                        self.programs / "postgres", "-D", self.folder / "data",
                        "-p", str(self.port), "-k", self.folder,
                        "-c", "listen_addresses=127.0.0.1", "-c", "fsync=on",
                        "-c", "synchronous_commit=on", "-c", "full_page_writes=on",
                    ],
                    cwd="/", stdin=subprocess.DEVNULL, stdout=log, stderr=log, **self.account,
                )  # fmt: skip
            while self.process.poll() is None and not self._answers():
                time.sleep(0.05)
        self.seconds.append(time.monotonic() - begun)

    def _answers(self) -> bool:
        try:
            self.connect().close()
        except psycopg.OperationalError:
            return False
        return True

    def connect(self, database: str = "postgres") -> "psycopg.Connection[tuple[Any, ...]]":
        """As its superuser; each statement is a transaction."""
        return psycopg.connect(
            host="127.0.0.1", port=self.port, user="panel", dbname=database, autocommit=True,
            connect_timeout=5,
        )  # fmt: skip

    def kill(self, all_of_it: bool) -> None:
        """SIGKILL to the first process, or to everyone it has started as well."""
        assert self.process is not None
        first = self.process.pid
        for one in [first, *(_children(first) if all_of_it else [])]:
            try:
                os.kill(one, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self.process.wait(STARTS_WITHIN)

    @property
    def runs(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def close(self) -> None:
        """Stops it and takes everything away."""
        if self.process is not None and self.runs:
            self.process.send_signal(signal.SIGINT)  # sessions are ended
            self.process.wait(STARTS_WITHIN)
        shutil.rmtree(self.folder)


def _children(parent: int) -> list[int]:
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            after = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(after[1]) == parent:
            found.append(int(path.parent.name))
    return found


class InCluster:
    """For the storm: an evening is a database, copied from the one in which the doors opened."""

    DOORS, EVENING = "doors", "evening"

    def __init__(self, cluster: Cluster) -> None:
        self.cluster = cluster
        self.url = f"postgresql+psycopg://panel@127.0.0.1:{cluster.port}/{self.EVENING}"
        self.begun = False
        self._order(f"CREATE DATABASE {self.EVENING}")

    def begin(self, doors_folder: Path, folder: Path) -> None:
        shutil.copytree(doors_folder, folder)
        if not self.begun:
            self._order(f"ALTER DATABASE {self.EVENING} RENAME TO {self.DOORS}")
            self.begun = True
        self._order(f"DROP DATABASE IF EXISTS {self.EVENING} WITH (FORCE)")
        self._order(f"CREATE DATABASE {self.EVENING} TEMPLATE {self.DOORS}")

    def _order(self, statement: str) -> None:
        with self.cluster.connect() as connection:
            connection.execute(statement)

    def kill(self, service: Service, chance: random.Random) -> str:
        what = chance.choices(list(SHARES), list(SHARES.values()))[0]
        if what != "the service":
            everyone = chance.random() < 0.5
            self.cluster.kill(everyone)
            if what == "both":
                service.kill(chance.random() < 0.5)
            return f"{what}, {'all of its processes' if everyone else 'its first process'}"
        service.kill(chance.random() < 0.5)
        return what

    @contextmanager
    def looked_at(self, _folder: Path) -> Iterator[Session]:
        """Nothing lies still in a running server: one moment of it, which is started if need be."""
        if not self.cluster.runs:
            self.cluster.start()
        engine = create_engine(self.url, isolation_level="REPEATABLE READ")
        try:
            with Session(engine) as session:
                yield session
        finally:
            engine.dispose()
