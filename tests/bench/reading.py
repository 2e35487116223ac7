"""A large run of the card reader, by hand: python -m tests.bench.reading --cards 4000 [--seed N].

Prints one line for each kind of damage and hand: positions read, silent errors, what went to a
person; then every silent error with its seed, and what the counts show at 95 % (no error in n
positions: at most 3/n, the rule of three). Large runs take hours; nice them.
"""

import argparse
import multiprocessing
from collections.abc import Iterator
from time import perf_counter

from tests.scanning.corpus.cards import CASES, Case
from tests.scanning.corpus.damage import AXES, LEVELS
from tests.scanning.corpus.scoring import Tally, joined, mixed_cases, reading_of, specimen

KINDS = [(name, messy) for name in ("scan", "tidy", "photo") for messy in (False, True)]
EVERY_KIND = [*KINDS, ("hard", True), *((name, True) for name in AXES)]


def jobs(cards: int, seed: int, axes: bool) -> Iterator[tuple[str, str, bool, int]]:
    """Case, damage, messy and seed of every picture."""
    cases = mixed_cases()
    kinds = EVERY_KIND if axes else KINDS
    for number in range(cards):
        damage, messy = kinds[number % len(kinds)]
        yield cases[(seed + number) % len(cases)].name, damage, messy, seed + number


def read_job(job: tuple[str, str, bool, int]) -> tuple[str, bool, Tally, float]:
    """One picture made, read and counted; seconds that the reading took."""
    name, damage, messy, seed = job
    case: Case = CASES[name]
    one = specimen(case, {**LEVELS, **AXES}[damage], messy, seed)
    begun = perf_counter()
    reading = reading_of(one)
    took = perf_counter() - begun
    tally = Tally()
    tally.add(one, reading, f"{name}, {damage}, {'messy' if messy else 'told'}")
    return damage, messy, tally, took


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cards", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1_000_000)
    parser.add_argument("--axes", action="store_true", help="each kind of damage by itself too")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    totals: dict[tuple[str, bool], Tally] = {}
    seconds: dict[tuple[str, bool], float] = {}
    with multiprocessing.get_context("spawn").Pool(asked.processes) as pool:
        work = jobs(asked.cards, asked.seed, asked.axes)
        for number, (damage, messy, tally, took) in enumerate(
            pool.imap_unordered(read_job, work, chunksize=24), start=1
        ):
            totals.setdefault((damage, messy), Tally()).join(tally)
            seconds[damage, messy] = seconds.get((damage, messy), 0.0) + took
            if number % 2000 == 0:
                report(totals, seconds)
    report(totals, seconds)


def report(totals: dict[tuple[str, bool], Tally], seconds: dict[tuple[str, bool], float]) -> None:
    """Print the state of the run."""
    lines = []
    for (damage, messy), tally in sorted(totals.items()):
        rate = 1000 * seconds[damage, messy] / tally.cards
        lines.append(
            f"{damage}, {'messy' if messy else 'as told'}: {tally.line()}; {rate:.1f} ms a card; "
            f"{dict(tally.reasons)}"
        )
    whole = joined(totals.values())
    lines += [f"ALL: {whole.line()}", whole.bound(), *whole.silent, *whole.wrong]
    for hand, state in sorted(whole.by_hand):
        lines.append(f"  {hand}, {state}: {whole.by_hand[hand, state]}")
    print("\n".join(lines), flush=True)  # noqa: T201


if __name__ == "__main__":
    main()
