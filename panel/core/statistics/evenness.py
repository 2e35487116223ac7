"""Are counts from several groups alike? Exact tests given all totals, in integers.

Two distances. `freeman_halton`: the probability of all tables as rare as this one or rarer
(Freeman & Halton 1951, Biometrika 38:141–149; with two groups Fisher's exact test, two-sided).
`overdispersed`: Tarone's statistic (1979, Biometrika 66:585–590) as large or larger, which looks
for groups that differ more among themselves than one common share allows. Where so many tables are
possible that trying them would take too long, Freeman–Halton gives way to Pearson's chi-square
and Tarone's exact tail to the normal one; the result says so.
"""

import math
from collections import defaultdict
from collections.abc import Callable, Sequence

from scipy.special import gammaincc, ndtr

from panel.core.statistics.inputs import check_count
from panel.core.statistics.results import Evenness, Overdispersion

Counts = Sequence[tuple[int, int]]
"""Correct and all of each group."""

MOST_STEPS = 200_000  # partial tables that are tried: a fraction of a second


def freeman_halton(counts: Counts) -> Evenness:
    """Do the groups have one share? p given the totals; 1 where only one table is possible.

    ValueError for fewer than two groups, PanelError (input) for an impossible count.
    """
    _check(counts)
    observed = math.prod(math.comb(n, x) for x, n in counts)
    ways = _walk(counts, lambda so_far, _x, _n, ways: so_far * ways, 1, weighted=False)
    if ways is None:
        return Evenness(_pearson_tail(counts), exact=False)
    rare = sum(table * times for table, times in ways.items() if table <= observed)
    return Evenness(_share(rare, _all(counts)), exact=True)


def overdispersed(counts: Counts) -> Overdispersion:
    """Tarone's Z and its one-sided p-value: Z None where it has no spread (everybody was right,
    nobody was, or each group has one answer).

    Z = (S − Σn) / √(2 Σ n(n − 1)), S = Σ (x − n p)² / (p (1 − p)), p the share of all.
    """
    _check(counts)
    right, trays = sum(x for x, _ in counts), sum(n for _, n in counts)
    pairs = sum(n * (n - 1) for _, n in counts)
    if right in (0, trays) or not pairs:
        return Overdispersion(None, 1.0, exact=True)

    def far(x: int, n: int) -> int:
        return (trays * x - n * right) ** 2

    observed = sum(far(x, n) for x, n in counts)
    z = (observed / (right * (trays - right)) - trays) / math.sqrt(2 * pairs)
    ways = _walk(counts, lambda so_far, x, n, _ways: so_far + far(x, n), 0, weighted=True)
    if ways is None:
        return Overdispersion(z, float(ndtr(-z)), exact=False)
    as_far = sum(weight for distance, weight in ways.items() if distance >= observed)
    return Overdispersion(z, _share(as_far, _all(counts)), exact=True)


def _check(counts: Counts) -> None:
    if len(counts) < 2:
        raise ValueError("there must be two groups or more")
    for correct, n in counts:
        check_count(correct, n)


def _all(counts: Counts) -> int:
    """How many ways there are to reach the totals."""
    return math.comb(sum(n for _, n in counts), sum(x for x, _ in counts))


def _share(part: int, whole: int) -> float:
    """A ratio of integers that may be too large for floats."""
    shift = max(0, whole.bit_length() - 1000)
    return min(1.0, (part >> shift) / (whole >> shift))


def _walk(
    counts: Counts,
    step: Callable[[int, int, int, int], int],
    start: int,
    *,
    weighted: bool,
) -> dict[int, int] | None:
    """Each attainable value that `step` builds up group by group (from the value so far, right
    answers and all of the group, and the ways in which they come about), among tables with these
    totals, with the number of such tables; `weighted`: with the ways in which those tables come
    about. None where there are too many to try."""
    total = sum(x for x, _ in counts)
    sizes = sorted((n for _, n in counts), reverse=True)
    left = sum(sizes)
    states: dict[tuple[int, int], int] = {(0, start): 1}
    steps = 0
    for n in sizes:
        left -= n
        after: dict[tuple[int, int], int] = defaultdict(int)
        spans = [(max(0, total - right - left), min(n, total - right)) for right, _ in states]
        steps += sum(most - least + 1 for least, most in spans)
        if steps > MOST_STEPS:
            return None
        choices = _choices(n)
        for ((right, value), times), (least, most) in zip(states.items(), spans, strict=True):
            for x in range(least, most + 1):
                ways = choices[x]
                after[right + x, step(value, x, n, ways)] += times * (ways if weighted else 1)
        states = after
    return {value: times for (_, value), times in states.items()}


def _choices(n: int) -> list[int]:
    """C(n, x) for x = 0 … n, each from the one before it: anew each takes as long as all."""
    row = [1]
    for x in range(n):
        row.append(row[-1] * (n - x) // (x + 1))
    return row


def _pearson_tail(counts: Counts) -> float:
    """P(chi-square with one degree less than groups >= Pearson's statistic)."""
    right, trays = sum(x for x, _ in counts), sum(n for _, n in counts)
    if right in (0, trays):
        return 1.0
    share = right / trays
    statistic = sum((x - n * share) ** 2 / (n * share * (1 - share)) for x, n in counts)
    return float(gammaincc((len(counts) - 1) / 2, statistic / 2))
