"""Do the ranks follow an order that was named before anybody tasted? Page's test.

Page 1963, J Am Stat Assoc 58:216–230: L = Σ j R_j, j the named place of each drink and R_j its rank
sum. Trays that have not all drinks enter with the places of the drinks that they have. Exact, by
adding up the trays' own distributions, as long as the numbers stay short enough (100 tasters of 4
drinks, 25 of 8); beyond, the normal curve without continuity correction.
"""

import math
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from functools import cache

from scipy.special import ndtr

from panel.core.statistics.inputs import Exact, check_alpha
from panel.core.statistics.rank_results import TrendTest
from panel.core.statistics.ranks import Block, checked, doubled_ranks, spread
from panel.core.statistics.tails import at_most
from panel.core.statistics.whole_sums import Counts, tail_of_sum

Places = tuple[int, ...]


def trend_test(blocks: Sequence[Block], named: Sequence[str], alpha: Exact) -> TrendTest:
    """Page's test, one-sided: `named` is every drink from first to last as expected.

    ValueError without blocks, or where `named` has not just the drinks of the blocks.
    """
    if sorted(named) != list(checked(blocks)):
        raise ValueError("the named order must have every drink once")
    risk = check_alpha(alpha)
    place = {drink: at for at, drink in enumerate(named, start=1)}
    observed, least, parts = 0, 0, []
    mean, variance = Fraction(0), Fraction(0)
    for block in blocks:
        ranks = doubled_ranks(block)
        places = tuple(sorted(place[drink] for drink in block))
        size = len(places)
        observed += sum(place[drink] * rank for drink, rank in ranks.items())
        lowest, step, counts = _one_tray(places, tuple(sorted(ranks.values())))
        least += lowest
        parts.append((step, counts))
        mean += Fraction(sum(places) * (size + 1), 2)
        away = sum((Fraction(sum(places), size) - one) ** 2 for one in places)
        variance += away * spread(tuple(ranks.values())) * size / (size - 1)
    tail = _tail(parts, observed - least)
    if tail is not None:
        p = float(Fraction(*tail))
        significant = at_most(p, risk, lambda: tail)
    else:
        p = float(ndtr(-(observed / 2 - float(mean)) / math.sqrt(variance)))
        significant = p <= risk
    return TrendTest(observed / 2, float(mean), p, tail is not None, significant)


def _tail(parts: Sequence[tuple[int, Counts]], above: int) -> tuple[int, int] | None:
    """P(sum of steps >= above), all parts brought to their common step."""
    common = math.gcd(*(step for step, _ in parts)) or 1
    scaled = [
        {value * (step // common if step else 0): ways for value, ways in counts.items()}
        for step, counts in parts
    ]
    return tail_of_sum(scaled, -(-above // common))


@cache
def _one_tray(places: Places, ranks: Places) -> tuple[int, int, Counts]:
    """Σ place × doubled rank over all ways of dealing the ranks to the places: its lowest value, a
    step, and how many ways lead to lowest + step × 0, 1, 2, …; step 0 where all ways are alike.

    Place by place over the sets of ranks already dealt.
    """
    dealt: dict[int, Counter[int]] = {0: Counter({0: 1})}
    for place in places:
        after: dict[int, Counter[int]] = {}
        for used, sums in dealt.items():
            for at, rank in enumerate(ranks):
                if not used >> at & 1:
                    into = after.setdefault(used | 1 << at, Counter())
                    for total, ways in sums.items():
                        into[total + place * rank] += ways
        dealt = after
    (sums,) = dealt.values()
    lowest = min(sums)
    step = math.gcd(*(total - lowest for total in sums))
    return lowest, step, {(total - lowest) // (step or 1): ways for total, ways in sums.items()}
