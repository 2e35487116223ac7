"""Balance of the counted trays: how often each order, and each beer in each position, was tasted.

The draw is balanced to within one tray; trays that were spilled, set aside or never returned can
undo it. Whether that needs a caution is decided by one rule, on the counts of orders: Pearson's
chi-square against equal counts, with as many degrees of freedom as orders less one, p below 0.05.

Why this rule. An order does not bias the test by itself (the order was drawn, so guessing stays at
chance); unequal orders let a position effect leak into the result. If two orders are served n1 and
n2 times (n together) and the first cup is favoured with probability 1/2 + b, the result shifts by
b(n1 - n2)/n, which is 2b times the square root of chi-square in standard errors of the result: the
statistic measures the harm itself. At the limit (3.84 for two orders) even a strong b of 0.1 shifts
it by 0.4 standard errors. It also says when losses have hit one order more than chance would. With
every order drawn at random by itself the rule speaks by chance in 2 to 7 % of sittings from 6 trays
on, with balanced waves less often. (Exact sizes are in the tests; the statistic is Pearson 1900.)
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

LIMIT = 0.05


@dataclass(frozen=True)
class OrderCount:
    """How many counted trays had this serving order."""

    order: str
    trays: int


@dataclass(frozen=True)
class PlaceCount:
    """How many counted trays had this beer in this position (from 1)."""

    position: int
    beer: str
    trays: int


@dataclass(frozen=True)
class Balance:
    """The counted trays by order (in the order of the complete set) and by position and beer.

    `p` is the probability of counts of orders at least as uneven, were they all equally likely.
    """

    trays: int
    by_order: tuple[OrderCount, ...]
    by_place: tuple[PlaceCount, ...]
    p: float
    unbalanced: bool


def balance_of(counted: Iterable[str], complete_set: Sequence[str]) -> Balance:
    """The balance of counted trays.

    counted: the serving order of each counted tray. complete_set: the method's orders. ValueError
    for an order that is not among them.
    """
    trays = Counter(counted)
    if strange := sorted(trays.keys() - set(complete_set)):
        raise ValueError(f"orders that the method does not have: {', '.join(strange)}")
    by_order = tuple(OrderCount(order, trays[order]) for order in complete_set)
    counts = tuple(count.trays for count in by_order)
    return Balance(sum(counts), by_order, _by_place(by_order), evenness(counts), unbalanced(counts))


def unbalanced(counts: Sequence[int]) -> bool:
    """Whether counted trays per order are so uneven that a caution must say so (rule above)."""
    return evenness(counts) < LIMIT


def evenness(counts: Sequence[int]) -> float:
    """The chi-square p-value of counts against equal counts; 1 where nothing can be uneven."""
    if len(counts) < 2 or sum(counts) == 0:
        return 1.0
    expected = sum(counts) / len(counts)
    statistic = sum((count - expected) ** 2 for count in counts) / expected
    return chi_square_tail(statistic, len(counts) - 1)


def chi_square_tail(statistic: float, freedom: int) -> float:
    """P(chi-square with `freedom` >= 1 degrees of freedom >= statistic), in closed form.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.4.4 and 26.4.5.
    """
    half = statistic / 2
    odd = freedom % 2
    powers = (odd / 2 + step for step in range(freedom // 2))
    series = sum(math.pow(half, power) / math.gamma(power + 1) for power in powers)
    return math.exp(-half) * series + (math.erfc(math.sqrt(half)) if odd else 0.0)


def _by_place(by_order: Sequence[OrderCount]) -> tuple[PlaceCount, ...]:
    cups: Counter[tuple[int, str]] = Counter()
    for count in by_order:
        for position, beer in enumerate(count.order, start=1):
            cups[position, beer] += count.trays
    return tuple(PlaceCount(*place, cups[place]) for place in sorted(cups))
