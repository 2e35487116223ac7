"""The exact distribution of a sum of independent whole numbers, by one multiplication of integers.

A distribution is written as a whole number whose digits, in a base larger than any sum of counts,
are the counts of 0, 1, 2, …; the product of two such numbers is the distribution of the sum
(Kronecker substitution). The sum of a number's digits is its remainder on division by base − 1.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

MOST_BITS = 1_000_000
"""Beyond this a product takes longer than a page should: the caller approximates."""

Counts = Mapping[int, int]
"""A whole number >= 0 to the number of ways in which it comes about."""


def tail_of_sum(parts: Sequence[Counts], least: int) -> tuple[int, int] | None:
    """P(sum >= least) as numerator and denominator, where each part takes one of its numbers and
    all ways of a part are equally likely. None where the number would be too long."""
    every, longest = 1, 0
    for part in parts:
        every *= sum(part.values())
        longest += max(part)
    width = every.bit_length() + 1
    if width * (longest + 1) > MOST_BITS:
        return None
    product = 1
    for counts, times in _alike(parts):
        product *= sum(ways << (width * value) for value, ways in counts) ** times
    if least <= 0:
        return every, every
    return (product >> (width * least)) % ((1 << width) - 1), every


def _alike(parts: Iterable[Counts]) -> list[tuple[tuple[tuple[int, int], ...], int]]:
    return sorted(Counter(tuple(sorted(part.items())) for part in parts).items())
