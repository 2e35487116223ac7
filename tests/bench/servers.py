"""Which server the embedded default is: `python -m tests.bench.servers [--turns N]`.

The real application on SQLite in one process, behind cheroot with 4, 8 and 16 threads and behind
granian with one worker, at 8, 32 and 128 connections that are all busy. Ballots (written) and the
ballot's page (read) in turns over all servers, so that a busier minute of the machine weighs on
all. A server is steady if it is as fast at 128 connections as at 8.

A table is printed for people and one JSON object after it.
"""

import argparse
import json
import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from flask import Flask

from panel import settings as settings_room
from panel.app import create_app
from panel.services.workplace import open_workplace
from panel.web import serve as serve_room
from tests.bench.ballots import Phone, Requests, Server, prepared
from tests.bench.load import Load, as_fast_as_answered
from tests.structure.checkout import ROOT

CONNECTIONS = (8, 32, 128)
POSTS, PAGES = 600, 600
STARTS_WITHIN = 30.0


@dataclass
class Contender:
    """A server with its own database, so that none waits for another's writer."""

    name: str
    words: list[str]
    folder: Path
    phones: list[Phone] = field(default_factory=list)
    port: int = 0
    loads: dict[tuple[str, int], list[Load]] = field(default_factory=dict)

    def environment(self) -> dict[str, str]:
        """What its processes are told: the ballots' senders stand behind one proxy."""
        kept = {name: word for name, word in os.environ.items() if not name.startswith("PANEL_")}
        own = {"PANEL_INSTANCE": str(self.folder), "PANEL_PROXIES": "1"}
        return {**kept, **own}

    @contextmanager
    def running(self) -> Iterator[None]:
        """Serves while the block lasts."""
        with socket.create_server(("127.0.0.1", 0)) as taken:
            self.port = int(taken.getsockname()[1])
        process = subprocess.Popen(
            [*self.words, str(self.port)] if self.words[-1] == "--port" else
            [word.replace("PORT", str(self.port)) for word in self.words],
            cwd=ROOT, env=self.environment(), stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        try:
            _until_ready(self.port)
            yield
        finally:
            os.killpg(process.pid, signal.SIGTERM)
            process.wait(STARTS_WITHIN)


def embedded(threads: int) -> list[str]:
    """cheroot, as `panel host` has it, with so many threads."""
    return [sys.executable, "-m", "tests.bench.servers", "--serve", str(threads), "--port"]


def one_worker() -> list[str]:
    """granian with one worker of four threads."""
    return [
        sys.executable, "-m", "granian", "--interface", "wsgi", "--factory", "--workers", "1",
        "--blocking-threads", "4", "--no-ws", "--log-level", "error", "--port", "PORT",
        "tests.bench.servers:app",
    ]  # fmt: skip


def app() -> Flask:
    """The application, for a server that asks for a factory."""
    return create_app(settings_room.load(os.environ))


def serve(threads: int, port: int) -> None:
    """The embedded server with another number of threads."""
    serve_room.THREADS = threads
    serve_room.serve(app(), "127.0.0.1", port)


def _until_ready(port: int) -> None:
    end = time.monotonic() + STARTS_WITHIN
    while time.monotonic() < end:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/readyz") as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.05)
    raise TimeoutError(f"no answer at port {port} within {STARTS_WITHIN:.0f} s")


def measured(contenders: list[Contender], turns: int) -> None:
    """Fills every contender's loads, in turns over all of them."""
    for one in contenders:
        at = open_workplace(settings_room.load({}, one.folder))
        try:
            one.phones = prepared(at, turns * len(CONNECTIONS) * POSTS + POSTS, one.name)
        finally:
            at.units.close()
    requests: dict[str, Requests] = {}
    for _ in range(turns):
        for one in contenders:
            with one.running():
                if one.name not in requests:
                    requests[one.name] = Requests(one.phones, _form(one))
                _turn(one, requests[one.name])


def _form(one: Contender) -> tuple[str, str]:
    server = Server.__new__(Server)
    server.ports = [one.port]
    return server.form(one.phones[0])


def _turn(one: Contender, requests: Requests) -> None:
    as_fast_as_answered(
        [one.port], [_page(one.phones[0], place) for place in range(50)], 8
    )  # made once, made before
    for connections in CONNECTIONS:
        pages = [_page(phone, place) for place, phone in enumerate(one.phones[:PAGES])]
        loads = {
            "pages": as_fast_as_answered([one.port], pages, connections),
            "ballots": as_fast_as_answered([one.port], requests.ballots(POSTS), connections),
        }
        for kind, load in loads.items():
            one.loads.setdefault((kind, connections), []).append(load)


def _page(phone: Phone, place: int) -> bytes:
    home = f"10.9.{place >> 8}.{place & 255}"
    return (
        f"GET /t/{phone.ref}?at=over HTTP/1.1\r\nHost: panel.example\r\n"
        f"Cookie: panel-tray={phone.proof}\r\nX-Forwarded-For: {home}\r\n\r\n"
    ).encode()


def figures(one: Contender) -> dict[str, object]:
    """Medians of the turns."""
    found: dict[str, object] = {}
    for (kind, connections), loads in one.loads.items():
        good = "200" if kind == "pages" else "302 receipt"
        found[f"{kind} at {connections}"] = {
            "a second": round(statistics.median(load.rate for load in loads)),
            "p99, ms": round(1000 * statistics.median(load.quantile(0.99) for load in loads)),
            "failed": sum(sum(load.statuses.values()) - load.statuses[good] for load in loads),
        }
    return found


def main() -> None:
    """Measures, prints a table and JSON; or serves for a measurement."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--turns", type=int, default=3)
    parser.add_argument("--serve", type=int, default=0, help=argparse.SUPPRESS)
    parser.add_argument("--port", type=int, default=0, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.serve:
        serve(given.serve, given.port)
        return
    with tempfile.TemporaryDirectory() as name:
        contenders = [
            *(
                Contender(
                    f"cheroot, {threads} threads", embedded(threads), Path(name) / str(threads)
                )
                for threads in (4, 8, 16)
            ),
            Contender("granian, 1 worker", one_worker(), Path(name) / "granian"),
        ]
        for one in contenders:
            one.folder.mkdir()
        measured(contenders, given.turns)
        found = {one.name: figures(one) for one in contenders}
    for server, its in found.items():
        print(f"\n{server}")  # noqa: T201
        for name, figure in its.items():
            print(f"  {name:<16}{figure}")  # noqa: T201
    print(json.dumps(found, indent=2))  # noqa: T201


if __name__ == "__main__":
    main()
