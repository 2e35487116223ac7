"""The storm at length: `python -m tests.bench.storm --kills 1000 --results storm.txt`.

Two hundred phones, two laptops that key cards in and one that photographs them, on one service,
fifty forms a second offered. `--results FILE` gets a line of JSON after every kill that was looked
at; started again with the same file the storm goes on where it was stopped, until there are as many
kills. `--seconds` ends it early, after the kill that is under way. `--backups N` takes a backup in
each life until there are so many, and restores and judges every one of them. `--postgresql` makes a
PostgreSQL of its own, which keeps what it confirms, and kills the service, the database server, or
both.

Prints one JSON object. Status 1 if anything was wrong. With no violation in n kills, at most
1 - 0.05^(1/n) of kills violate anything, at 95 % confidence.
"""

import argparse
import json
import os
import platform
import random
import signal
import sqlite3
import statistics
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from copy import copy
from pathlib import Path
from typing import Any

from tests.faults.backups import Backups
from tests.faults.cluster import Cluster, InCluster
from tests.faults.evening import Cast
from tests.faults.storm import EVENING, InFile, Place, Storm, storm

MOST_KILLS = 3_000


def main() -> None:
    """Runs the storm and prints its figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--phones", type=int, default=200)
    parser.add_argument("--rate", type=float, default=50.0, help="forms a second that are offered")
    parser.add_argument("--seed", default="bench")
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--results", type=Path)
    parser.add_argument("--backups", type=int, default=0)
    parser.add_argument("--postgresql", action="store_true")
    given = parser.parse_args()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # nothing is left running behind
    lines = _lines(given.results)
    kills = min(max(given.kills, 1), MOST_KILLS) - sum(line["kills"] for line in lines)
    if kills > 0 and not any(line["wrong"] for line in lines):
        _run(given, kills, lines)
    print(json.dumps(summary(lines), indent=2, ensure_ascii=False))  # noqa: T201
    sys.exit(1 if any(line["wrong"] for line in lines) else 0)


def _run(given: argparse.Namespace, kills: int, lines: list[dict[str, Any]]) -> None:
    """Adds a line for every kill, to the list and to the file."""
    ends = time.monotonic() + given.seconds
    told = Told()

    def note(seen: Storm) -> None:
        line = told.since(seen)
        lines.append(line)
        if given.results is not None:
            with given.results.open("a", encoding="utf-8") as out:
                out.write(json.dumps(line, ensure_ascii=False) + "\n")

    def go_on(seen: Storm) -> bool:
        note(seen)
        return time.monotonic() < ends

    with tempfile.TemporaryDirectory() as folder, _place(given.postgresql) as place:
        note(
            storm(
                Path(folder),
                kills,
                given.seed,
                cast=Cast(phones=given.phones, laptops=2, keyed=10, sheets=6),
                rate=given.rate,
                place=place,
                go_on=go_on,
                during=Backups(given.backups, random.Random(given.seed)),
                first=sum(line["kills"] for line in lines) // EVENING + 1,
            )
        )


@contextmanager
def _place(postgresql: bool) -> Iterator[Place]:
    """Where the ballots go."""
    if not postgresql:
        yield InFile()
        return
    with closing(Cluster()) as cluster:
        yield InCluster(cluster)


class Told:
    """Remembers what was told of a storm, and tells the rest."""

    def __init__(self) -> None:
        self.before: dict[str, Any] = {}

    def since(self, seen: Storm) -> dict[str, Any]:
        """Everything that came since the last time, in words and numbers of JSON."""
        now = {
            name: Counter({str(key): count for key, count in value.items()})
            if isinstance(value, Counter)
            else copy(value)
            for name, value in vars(seen).items()
        }
        line = {}
        for name, value in now.items():
            if isinstance(value, list):
                line[name] = value[len(self.before.get(name, [])) :]
            else:
                line[name] = value - self.before.get(name, type(value)())
        self.before = now
        return {**line, "at": round(time.time())}


def summed(lines: list[dict[str, Any]]) -> dict[str, Any]:
    """The lines together."""
    sums: dict[str, Any] = {}
    for line in lines:
        for name, value in line.items():
            more = Counter(value) if isinstance(value, dict) else value
            sums[name] = sums[name] + more if name in sums else more
    return sums


def summary(lines: list[dict[str, Any]]) -> dict[str, Any]:
    """What is told of a storm."""
    seen = summed(lines)
    if not seen:
        return {"kills": 0}
    starts, waits = seen["starts"], seen["waits"]
    alone = [start - wait for start, wait in zip(starts, waits, strict=True)]
    return {
        "kills": seen["kills"],
        "killed": seen["killed"],
        "wrong": seen["wrong"],
        "at most, of kills (95 %)": round(1 - 0.05 ** (1 / max(seen["kills"], 1)), 5),
        "forms and pictures": seen["forms"],
        "ballots kept": seen["by_channel"],
        "posts": seen["posts"],
        "a second, while alive": round(seen["posts"] / max(seen["under_load"], 0.001), 1),
        "cut": seen["cuts"],
        "sent twice": seen["repeats"],
        "receipts looked at": seen["receipts"],
        "backups, each restored": seen.get("backups", 0),
        "ballots acknowledged before them": seen.get("backed_up", 0),
        "pages before closing, by status": seen["pages"],
        "seconds to ready": _spread(starts),
        "the same without waiting for a processor": _spread(alone),
        "took more than 5 s": sum(one > 5 for one in starts),
        "load of the machine": _spread(seen["loads"]),
        "machine": f"{os.cpu_count()} cores, {platform.system()}, Python "
        f"{platform.python_version()}, SQLite {sqlite3.sqlite_version}",
    }


def _spread(values: list[float]) -> dict[str, float]:
    ordered = sorted(values)
    return {
        "median": round(statistics.median(ordered), 2),
        "95 %": round(ordered[int(0.95 * (len(ordered) - 1))], 2),
        "longest": round(ordered[-1], 2),
    }


def _lines(results: Path | None) -> list[dict[str, Any]]:
    """What an earlier run has left."""
    if results is None or not results.exists():
        return []
    return [json.loads(line) for line in results.read_text(encoding="utf-8").splitlines()]


if __name__ == "__main__":
    main()
