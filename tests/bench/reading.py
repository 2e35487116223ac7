"""A large run of the card reader, by hand: python -m tests.bench.reading --cards 4000 [--seed N].

Prints one line for each kind of picture and taster: positions read, silent errors, what went to a
person; then every silent error with its seed, what the counts show at 95 % (no error in n
positions: at most 3/n, the rule of three), and with --drawn how often each value of each axis was
drawn. Large runs take hours: with --results FILE what was read is kept after every thousand cards,
and the same command goes on where it stopped; --show prints the file and reads nothing.
"""

import argparse
import json
import multiprocessing
import os
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from itertools import islice
from pathlib import Path
from typing import Any

from panel.scanning import reader_version
from tests.scanning.corpus.axes import AXES, KINDS
from tests.scanning.corpus.ballots import Taster
from tests.scanning.corpus.cards import CASES
from tests.scanning.corpus.scoring import Tally, joined, mixed_cases, reading_of, specimen

USUAL = [(name, taster) for name in ("scan", "tidy", "poor") for taster in Taster]
EVERY = [*USUAL, *((name, Taster.CARELESS) for name in ("hard", "mix", "mix", *AXES))]
KEPT_AFTER = 1000
"""Cards between two states of the results file."""

Job = tuple[str, str, Taster, int]
Totals = dict[tuple[str, str], Tally]


def jobs(seed: int, axes: bool) -> Iterator[Job]:
    """Case, kind of picture, taster and seed of every picture, without end."""
    cases, kinds = mixed_cases(), EVERY if axes else USUAL
    number = 0
    while True:
        kind, taster = kinds[number % len(kinds)]
        # A case meets every kind: the two cycles are kept out of step.
        case = cases[(number + number // len(kinds)) % len(cases)]
        yield case.name, kind, taster, seed + number
        number += 1


def read_job(job: Job) -> tuple[str, str, Tally]:
    """One picture made, read and counted."""
    name, kind, taster, seed = job
    one = specimen(CASES[name], KINDS[kind], taster, seed)
    tally = Tally()
    tally.add(one, reading_of(one), f"{name}, {kind}, {taster}")
    return kind, taster, tally


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cards", type=int, default=600)
    parser.add_argument("--positions", type=int, help="stop after so many positions were read")
    parser.add_argument("--seed", type=int, default=1_000_000)
    parser.add_argument("--axes", action="store_true", help="each kind of damage by itself too")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--results", type=Path, help="keep the state here, and go on from it")
    parser.add_argument("--show", action="store_true", help="print --results and stop")
    parser.add_argument("--drawn", action="store_true", help="print how often what was drawn")
    asked = parser.parse_args()
    done, totals = state(asked.results, asked.seed, asked.axes)
    if not asked.show:
        done = run(asked, done, totals)
    report(totals, asked.drawn)


def run(asked: argparse.Namespace, done: int, totals: Totals) -> int:
    """Read on from picture `done`; how many were read in the end."""
    os.environ["OMP_NUM_THREADS"] = "1"
    with multiprocessing.get_context("spawn").Pool(asked.processes) as pool:
        work = islice(jobs(asked.seed, asked.axes), done, None)
        while done < asked.cards:
            batch = list(islice(work, min(KEPT_AFTER, asked.cards - done)))
            for kind, taster, tally in pool.imap(read_job, batch, chunksize=20):
                totals.setdefault((kind, taster), Tally()).join(tally)
            done += len(batch)
            if asked.results is not None:
                keep(asked.results, asked.seed, asked.axes, done, totals)
            whole = joined(totals.values())
            print(f"{time.strftime('%H:%M:%S')} {done} cards; {whole.bound()}", flush=True)  # noqa: T201
            if asked.positions is not None and whole.positions >= asked.positions:
                break
    return done


def keep(path: Path, seed: int, axes: bool, done: int, totals: Totals) -> None:
    """Write the state, whole or not at all."""
    said = {
        "run": run_of(seed, axes),
        "done": done,
        "totals": [[*key, words(tally)] for key, tally in totals.items()],
    }
    new = path.with_suffix(".new")
    new.write_text(json.dumps(said), encoding="utf-8")
    new.replace(path)


def state(path: Path | None, seed: int, axes: bool) -> tuple[int, Totals]:
    """How many cards were read, and their tallies; SystemExit if they are of another run."""
    if path is None or not path.exists():
        return 0, {}
    said = json.loads(path.read_text(encoding="utf-8"))
    if said["run"] != run_of(seed, axes):
        raise SystemExit(f"{path} is of another run: {said['run']}")
    return said["done"], {(kind, hand): tally_of(one) for kind, hand, one in said["totals"]}


def run_of(seed: int, axes: bool) -> dict[str, Any]:
    """What two runs must have in common to be one."""
    return {"seed": seed, "axes": axes, "reader": reader_version(), "cases": len(CASES)}


def words(tally: Tally) -> dict[str, Any]:
    """A tally as JSON holds it."""
    return {
        name: [[key, count] for key, count in value.items()]
        if isinstance(value, Counter)
        else value
        for name, value in asdict(tally).items()
    }


def tally_of(said: dict[str, Any]) -> Tally:
    """The tally again."""
    tally = Tally(**said)
    for name in ("by_hand", "drawn", "marginal"):
        setattr(tally, name, Counter({tuple(key): count for key, count in said[name]}))
    tally.reasons = Counter(dict(said["reasons"]))
    return tally


def report(totals: Totals, drawn: bool) -> None:
    """Print the state of the run."""
    lines = [
        f"{kind}, {taster}: {tally.line()}; {dict(tally.reasons)}"
        for (kind, taster), tally in sorted(totals.items())
    ]
    whole = joined(totals.values())
    for taster in Taster:
        mine = joined(tally for (_, one), tally in totals.items() if one == taster)
        lines.append(f"ALL {taster}: {mine.line()}")
    lines += [f"ALL: {whole.line()}", whole.bound(), *whole.silent, *whole.wrong]
    lines += [
        f"  {hand}, {found}: {whole.by_hand[hand, found]}" for hand, found in sorted(whole.by_hand)
    ]
    lines += [f"  {line}" for line in whole.alike()]
    if drawn:
        lines += [f"  NEVER DRAWN: {value}" for value in whole.never_drawn()]
        lines += [
            f"  {axis} | {value} | {whole.drawn[axis, value]}"
            for axis, value in sorted(whole.drawn)
        ]
    print("\n".join(lines), flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
