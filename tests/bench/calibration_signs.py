"""Does it keep what it promises, where hits are held against false alarms?

Part of `tests.bench.calibration`: simulated panels answer by the rule behind each method, wherever
they draw the line; the program's own test and interval are looked up for every table that comes.
"""

from collections.abc import Iterator
from decimal import Decimal

import numpy as np

from panel.core import statistics as s
from panel.core.methods import METHODS, Detection

PANELS = 100_000
ALPHA, BETA, CONFIDENCE = Decimal("0.05"), Decimal("0.2"), Decimal("0.95")
D_PRIME = 2.0
LINES = {"yes-no": (0.0, -0.8), "same-different": (2**0.5, 0.7)}
"""Where it is drawn usually, and by people who are quick to give the answer in question."""

Rate = tuple[int, int]
Table = tuple[int, ...]


def signs_by_method() -> Iterator[tuple[str, str, Rate, Rate, float, Rate, Rate, Rate]]:
    """Name, tasters; false alarms with the usual line and a quick one; power as planned and as it
    is; how often the interval of d-prime holds 0 and D_PRIME, with the quick line."""
    rng = np.random.default_rng(20_261_126)
    for method in METHODS.values():
        if not isinstance(method, Detection):
            continue
        rates = s.rates_at(method.line, D_PRIME)
        needed = s.tasters_for_rates(*rates, ALPHA, BETA, paired=method.paired)
        known: dict[Table, tuple[bool, float, float]] = {}
        usual, quick = LINES[method.line]
        seen = [
            _panels(rng, method, known, needed.holding_tasters, d, line)
            for d, line in ((0.0, usual), (0.0, quick), (D_PRIME, usual), (D_PRIME, quick))
        ]
        yield (
            str(method.name),
            str(needed.holding_tasters),
            seen[0][0],
            seen[1][0],
            needed.power,
            seen[2][0],
            seen[1][1],
            seen[3][1],
        )


def _panels(
    rng: np.random.Generator,
    method: Detection,
    known: dict[Table, tuple[bool, float, float]],
    tasters: int,
    d: float,
    line: float,
) -> tuple[Rate, Rate]:
    """In how many panels a difference was shown, and in how many the interval holds `d`."""
    hit, alarm = s.rates_at(method.line, d, line)
    if method.paired:
        chances = [hit * alarm, hit * (1 - alarm), (1 - hit) * alarm, (1 - hit) * (1 - alarm)]
        counts = rng.multinomial(tasters, chances, PANELS)[:, :3]
    else:
        half = tasters - tasters // 2, tasters // 2
        counts = np.column_stack(
            [rng.binomial(half[0], hit, PANELS), rng.binomial(half[1], alarm, PANELS)]
        )
    tables, times = np.unique(counts, axis=0, return_counts=True)
    shown = held = 0
    for table, panels in zip(tables.tolist(), times.tolist(), strict=True):
        one = known.get(tuple(table)) or _of(method, tuple(table), tasters)
        known[tuple(table)] = one
        significant, low, high = one
        shown += panels * significant
        held += panels * (low <= d <= high)
    return (shown, PANELS), (held, PANELS)


def _of(method: Detection, table: Table, tasters: int) -> tuple[bool, float, float]:
    """What the program says of a table: shown, and the ends of d-prime's interval."""
    if method.paired:
        both, alone, other = table
        counted = s.Rates(both + alone, tasters, both + other, tasters, alone, other)
    else:
        counted = s.Rates(table[0], tasters - tasters // 2, table[1], tasters // 2)
    interval = s.sensitivity_of(method.line, counted, CONFIDENCE).d_prime.interval
    low = -np.inf if interval.low is None else interval.low
    high = np.inf if interval.high is None else interval.high
    return s.rate_test(counted, ALPHA, CONFIDENCE).significant, low, high
