"""How fast ballots are taken: `python -m tests.bench.ballots [--postgresql URL] [--ballots N]`.

One run, one machine, one disk: the real application on its own server, once on SQLite and, where a
server is named, once on PostgreSQL with two processes. Phones post whole ballots over connections
that stay open; the load generator is a process of its own on the same processors.

    floor    one bare insert by the ORM and its commit behind the same door (tests/bench/
             ballots_server.py); measured in turns with the ballots, so that a busier minute of the
             machine weighs on both
    ratio    ballots a second over the floor's, medians of the turns
    flat     the rate of each tenth of a long run over the rate of its first

A table is printed for people and one JSON object after it. What is asked: ratio 0.6 or more, p99 at
32 connections at most 2 x 32 / rate, no errors, p95 at 50 a second at most 500 ms.
"""

import argparse
import hashlib
import hmac
import json
import random
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from sqlalchemy import make_url

from panel import settings as settings_room
from panel.core.comparison import Comparison, Cup, Tray
from panel.core.paper.payload import ref_of, tray_tokens
from panel.services.workplace import Workplace, cookie_key, open_workplace
from panel.store import trays as trays_store
from tests.bench.ballots_server import Base
from tests.bench.load import Load, as_fast_as_answered, at_a_rate
from tests.builders import answers, serving, trays
from tests.conftest import fresh_postgresql
from tests.structure.checkout import ROOT

MOST_OF_ONE = 9_000
"""Trays of one comparison: card numbers end at 9,999."""

CONNECTIONS = 32
TURNS, TURN = 5, 1_500
"""Turns of floor and ballots, and how many of each in a turn."""

EVENING = 50.0
"""Ballots a second of a hall at its busiest."""

CODES = ("137", "246", "358", "471", "592")


@dataclass(frozen=True)
class Phone:
    """A tray with all that its ballot's form says."""

    ref: str
    proof: str
    fields: str


def prepared(at: Workplace, wanted: int, seed: str) -> list[Phone]:
    """Sittings being served with so many more trays than a real one has: one sitting after the
    other, as evenings are, and in no order within."""
    chance = random.Random(seed)
    phones: list[Phone] = []
    while len(phones) < wanted:
        known = serving(at)
        count = min(MOST_OF_ONE, wanted - len(phones))
        more = _phones(at, known, count, chance)
        chance.shuffle(more)
        phones += more
    return phones


def _phones(at: Workplace, known: Comparison, count: int, chance: random.Random) -> list[Phone]:
    like = trays(at, known)[0]
    many = []
    for number in range(101, 101 + count):
        codes = chance.sample(CODES, len(like.cups))
        cups = tuple(Cup(place, code) for place, code in enumerate(codes, start=1))
        many.append(replace(like, number=number, wave=number, cups=cups))
    tokens = {tray.number: tray_tokens(at.instance_key, known.id, tray.number, 1) for tray in many}
    with at.units.begin() as session:
        trays_store.add_many(session, known.id, many, tokens)
    key = cookie_key(at)
    return [_phone(known, tray, ref_of(tokens[tray.number].token), key, chance) for tray in many]


def _phone(known: Comparison, tray: Tray, ref: str, key: bytes, chance: random.Random) -> Phone:
    given = answers(known, tray, chance.choice((1, 2, 3)))
    fields = [("key", f"{chance.getrandbits(128):032x}")]
    fields += [(f"answer-{name}", word) for name, words in given.items() for word in words]
    fields.append(("answer-words", "rather more malt than hops in the left one"))
    proof = hmac.new(key, f"tray {ref}".encode(), hashlib.sha256).hexdigest()
    return Phone(ref, proof, urlencode(fields))


class Server:
    """The service's processes; more than one where the database is a server of its own."""

    def __init__(self, folder: Path, url: str, processes: int, profile: Path | None) -> None:
        words = [sys.executable, "-m", "tests.bench.ballots_server", str(folder), url]
        words += ["--profile", str(profile)] if profile else []
        self.processes = [
            subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)
            for _ in range(processes)
        ]
        self.ports = []
        for process in self.processes:
            assert process.stdout is not None
            self.ports.append(int(process.stdout.readline().split()[1]))

    def form(self, phone: Phone) -> tuple[str, str]:
        """A form's token and the cookie it belongs to: good for every tray."""
        asked = urllib.request.Request(
            f"http://127.0.0.1:{self.ports[0]}/t/{phone.ref}?at=over",
            headers={"Cookie": f"panel-tray={phone.proof}"},
        )
        with urllib.request.urlopen(asked) as answer:
            token = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', answer.read().decode())
            cookie = re.search(r"panel=[^;]+", answer.headers["Set-Cookie"])
        assert token is not None
        assert cookie is not None
        return token[1], cookie[0]

    def stop(self) -> None:
        for process in self.processes:
            process.send_signal(signal.SIGTERM)
        for process in self.processes:
            process.wait(60)
            assert process.stdout is not None
            process.stdout.close()


def request(path: str, phone: Phone, form: tuple[str, str], place: int) -> bytes:
    """One POST as a phone sends it, each from an address of its own."""
    token, cookie = form
    body = f"csrf_token={token}&{phone.fields}"
    home = f"10.{place >> 16 & 255}.{place >> 8 & 255}.{place & 255}"
    head = (
        f"POST {path} HTTP/1.1\r\nHost: panel.example\r\nOrigin: http://panel.example\r\n"
        f"Cookie: panel-tray={phone.proof}; {cookie}\r\nX-Forwarded-For: {home}\r\n"
        f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    return (head + body).encode()


class Requests:
    """Ballots that were not sent yet, and floors."""

    def __init__(self, phones: list[Phone], form: tuple[str, str]) -> None:
        self.phones, self.form, self.next = phones, form, 0

    def ballots(self, count: int) -> list[bytes]:
        taken = self.phones[self.next : self.next + count]
        made = [
            request(f"/t/{phone.ref}/send", phone, self.form, place)
            for place, phone in enumerate(taken, start=self.next)
        ]
        self.next += count
        return made

    def floors(self, count: int, path: str = "") -> list[bytes]:
        some = self.phones[:count]
        return [
            request(path or f"/t/{phone.ref}/floor", phone, self.form, place)
            for place, phone in enumerate(some)
        ]


@contextmanager
def database(postgresql: str, folder: Path) -> Iterator[str]:
    """An empty database's URL."""
    if postgresql:
        yield from fresh_postgresql(make_url(postgresql))
    else:
        yield f"sqlite:///{folder / 'panel.db'}"


def measured(postgresql: str, ballots: int, profile: Path | None) -> dict[str, Any]:
    """All figures of one engine."""
    with tempfile.TemporaryDirectory() as name, database(postgresql, Path(name)) as url:
        folder = Path(name)
        phones = _made_ready(url, folder, ballots)
        server = Server(folder, url, 2 if postgresql else 1, profile)
        try:
            requests = Requests(phones, server.form(phones[0]))
            return _figures(server.ports, requests, ballots)
        finally:
            server.stop()


def _made_ready(url: str, folder: Path, ballots: int) -> list[Phone]:
    at = open_workplace(settings_room.load({"PANEL_DATABASE_URL": url}, folder))
    try:
        with at.units.begin() as session:
            Base.metadata.create_all(session.connection())
        return prepared(at, ballots + (TURNS + 2) * TURN, "bench")
    finally:
        at.units.close()


def _figures(ports: list[int], requests: Requests, ballots: int) -> dict[str, Any]:
    _ran(ports, requests.floors(TURN // 3))  # what is made once is made before
    _ran(ports, requests.ballots(TURN // 3))
    bare, floor, ours = [], [], []
    for _ in range(TURNS):
        bare.append(_ran(ports, requests.floors(TURN, "/bare/")))
        floor.append(_ran(ports, requests.floors(TURN)))
        ours.append(_ran(ports, requests.ballots(TURN)))
    rate = statistics.median(one.rate for one in ours)
    floor_rate = statistics.median(one.rate for one in floor)
    bare_rate = statistics.median(one.rate for one in bare)
    evening = at_a_rate(ports, requests.ballots(TURN), 200, EVENING)
    long = _ran(ports, requests.ballots(ballots)) if ballots else None
    every = [*ours, evening, *([long] if long else [])]
    return {
        "bare insert, plain Flask, a second": round(bare_rate),
        "floor, a second": round(floor_rate),
        "ballots, a second": round(rate),
        "ratio to the floor": round(rate / floor_rate, 3),
        "ratio to plain Flask": round(rate / bare_rate, 3),
        "p50 at 32, ms": _ms(statistics.median(one.quantile(0.50) for one in ours)),
        "p95 at 32, ms": _ms(statistics.median(one.quantile(0.95) for one in ours)),
        "p99 at 32, ms": _ms(statistics.median(one.quantile(0.99) for one in ours)),
        "p99 at 32 of the floor, ms": _ms(statistics.median(one.quantile(0.99) for one in floor)),
        "p99 allowed, ms": _ms(2 * CONNECTIONS / rate),
        "p50 at 50 a second, ms": _ms(evening.quantile(0.50)),
        "p95 at 50 a second, ms": _ms(evening.quantile(0.95)),
        "errors": sum(_errors(one) for one in every),
        "answers": dict(sum((one.statuses for one in every), Load().statuses)),
        "long run": _flat(long) if long else {},
    }


def _ran(ports: list[int], requests: list[bytes]) -> Load:
    return as_fast_as_answered(ports, requests, CONNECTIONS)


def _errors(load: Load) -> int:
    return sum(count for status, count in load.statuses.items() if status != "302 receipt")


def _flat(load: Load) -> dict[str, Any]:
    tenths = [0] * 10
    size = len(load.moments) / 10
    edges = [
        load.moments[min(int(size * (place + 1)), len(load.moments)) - 1] for place in range(10)
    ]
    spans = [edge - before for before, edge in zip([0.0, *edges], edges, strict=False)]
    tenths = [round(size / span) for span in spans]
    return {
        "ballots": len(load.moments),
        "a second": round(load.rate),
        "p99, ms": _ms(load.quantile(0.99)),
        "longest, ms": _ms(max(load.seconds)),
        "each tenth, a second": tenths,
        "last tenth over first": round(tenths[-1] / tenths[0], 3),
    }


def _ms(seconds: float) -> float:
    return round(seconds * 1000, 1)


def main() -> None:
    """Measures, prints a table and JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ballots", type=int, default=100_000, help="in the long run; 0: none")
    parser.add_argument("--postgresql", default="", help="a server that keeps what it confirms")
    parser.add_argument("--only", choices=("sqlite", "postgresql"))
    parser.add_argument("--profile", type=Path, help="write a profile; the rates mean nothing then")
    given = parser.parse_args()
    found = {}
    if given.only != "postgresql":
        found["SQLite, 1 process"] = measured("", given.ballots, given.profile)
    if given.postgresql and given.only != "sqlite":
        found["PostgreSQL, 2 processes"] = measured(given.postgresql, given.ballots, given.profile)
    for engine, figures in found.items():
        print(f"\n{engine}")  # noqa: T201
        for name, figure in figures.items():
            print(f"  {name:<36}{figure}")  # noqa: T201
    print(json.dumps(found, indent=2))  # noqa: T201


if __name__ == "__main__":
    main()
