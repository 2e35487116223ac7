"""Ranks within trays: what everything that compares several drinks in order begins from.

A block is one taster's tray: each drink's place or score, as a whole number. Ties share the mean
of their ranks. Ranks are doubled here, so that a shared rank is a whole number too.
"""

from collections.abc import Mapping, Sequence
from fractions import Fraction

Block = Mapping[str, int]
"""A drink's letter to its place or score on one tray."""


def doubled_ranks(block: Block) -> dict[str, int]:
    """Twice the rank of each drink, the smallest number ranked first; ties share the mean."""
    values = sorted(block.values())
    return {
        drink: 2 * values.index(value) + values.count(value) + 1 for drink, value in block.items()
    }


def checked(blocks: Sequence[Block]) -> tuple[str, ...]:
    """The drinks of all blocks in order; ValueError for no block, or one of fewer than two."""
    if not blocks or any(len(block) < 2 for block in blocks):
        raise ValueError("ranks need at least one tray, and two drinks on each")
    return tuple(sorted({drink for block in blocks for drink in block}))


def spread(ranks: Sequence[int]) -> Fraction:
    """The variance of one drink's rank, were the ranks of its tray shuffled among all of it."""
    size = len(ranks)
    return Fraction(sum((2 * rank - 2 * (size + 1)) ** 2 for rank in ranks), 16 * size)
