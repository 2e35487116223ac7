"""More beers than one taster should drink: each tastes some, and all pairs meet equally often.

Balanced incomplete blocks (Yates 1936; Cochran & Cox 1957, Experimental Designs, chapter 11; for
tasting ISO 29842). With t beers, k cups a taster and r tasters for each beer in b blocks:
b k = r t and λ (t − 1) = r (k − 1), λ being how often two beers stand on one tray. All subsets of
k beers are such a design; where a smaller one exists it is built by turning base blocks round
modulo a prime (Bose 1939, Annals of Eugenics 9:353–399). Every beer stands in every position
equally often, which any such design allows (Hartley, Shrikhande & Smith 1953, Annals of
Mathematical Statistics 24:651–654), if need be over several orders of the same block.
"""

from dataclasses import dataclass
from functools import cache
from itertools import combinations
from math import comb, gcd

from panel.core.names import LETTERS

FEWEST, MOST = 3, 8
MOST_BLOCKS = 28
"""No guild gathers more tasters than that for one round of a design."""

OUTSIDE = -1  # a beer that stays where it is while the others are turned round
BASES: dict[tuple[int, int], tuple[int, tuple[tuple[int, ...], ...]]] = {
    (6, 3): (5, ((OUTSIDE, 0, 1), (0, 1, 3))),
    (7, 3): (7, ((0, 1, 3),)),
    (7, 4): (7, ((2, 4, 5, 6),)),
    (8, 4): (7, ((OUTSIDE, 0, 1, 3), (2, 4, 5, 6))),
}
"""Beers and cups to a modulus and the base blocks that are turned round in it; the tests verify
that all pairs meet equally often."""


@dataclass(frozen=True)
class BlockDesign:
    """A design: `blocks` trays make it whole, `orders` are the complete set of serving orders.

    `each` is how often a beer is tasted in one round of blocks, `together` how often two beers
    stand on one tray, `efficiency` how much of a complete comparison's information is left.
    """

    beers: int
    cups: int
    blocks: int
    each: int
    together: int
    orders: tuple[str, ...]

    @property
    def efficiency(self) -> float:
        """t (k − 1) / (k (t − 1)): what one cup tells, next to a cup of a complete tray."""
        return self.beers * (self.cups - 1) / (self.cups * (self.beers - 1))


def cups_possible(beers: int) -> tuple[int, ...]:
    """How many cups a taster can have instead of all, so that a design of at most 28 blocks
    exists; ascending."""
    if not FEWEST <= beers <= MOST:
        return ()
    return tuple(k for k in range(2, beers) if _block_count(beers, k) <= MOST_BLOCKS)


@cache
def block_design(beers: int, cups: int) -> BlockDesign:
    """The design for so many beers and cups; ValueError where none is practical."""
    if cups not in cups_possible(beers):
        raise ValueError(f"no practical design has {beers} beers and {cups} cups a taster")
    blocks = _blocks(beers, cups)
    each = len(blocks) * cups // beers
    together = each * (cups - 1) // (beers - 1)
    orders = tuple("".join(LETTERS[beer] for beer in row) for row in _in_places(blocks, cups, each))
    return BlockDesign(beers, cups, len(blocks), each, together, orders)


def _block_count(beers: int, cups: int) -> int:
    if (beers, cups) in BASES:
        modulus, bases = BASES[beers, cups]
        return modulus * len(bases)
    return comb(beers, cups)


def _blocks(beers: int, cups: int) -> list[tuple[int, ...]]:
    if (beers, cups) not in BASES:
        return list(combinations(range(beers), cups))
    modulus, bases = BASES[beers, cups]
    return [
        tuple(sorted(beers - 1 if at == OUTSIDE else (at + turn) % modulus for at in base))
        for base in bases
        for turn in range(modulus)
    ]


def _in_places(blocks: list[tuple[int, ...]], cups: int, each: int) -> list[tuple[int, ...]]:
    """The blocks as serving orders, every beer in every position equally often.

    Where each beer's number of blocks is no multiple of the cups, a block has `turns` orders, and
    the positions fall into classes of so many that turn into one another. Each class takes as many
    beers of every block, and each beer equally often over all blocks.
    """
    turns = cups // gcd(each, cups)
    stride = cups // turns
    rows = [[0] * cups for _ in blocks]
    left = [set(block) for block in blocks]
    for place in range(stride):
        for block, beers in enumerate(_shared_out(left, turns, each * turns // cups)):
            rows[block][place::stride] = sorted(beers)
            left[block] -= beers
    return [
        tuple(row[turn * stride :] + row[: turn * stride]) for turn in range(turns) for row in rows
    ]


def _shared_out(left: list[set[int]], per_block: int, per_beer: int) -> list[set[int]]:
    """`per_block` of each block's beers that are left, so that each beer is taken `per_beer` times.

    By augmenting paths (Ford & Fulkerson 1956); always possible, since all blocks have equally many
    beers left and all beers equally many blocks.
    """
    taken: list[set[int]] = [set() for _ in left]
    holders: dict[int, list[int]] = {beer: [] for block in left for beer in block}

    def take(block: int, seen: set[int]) -> bool:
        for beer in sorted(left[block] - taken[block] - seen):
            seen.add(beer)
            if len(holders[beer]) < per_beer:
                holders[beer].append(block)
                taken[block].add(beer)
                return True
            for other in holders[beer]:
                if take(other, seen):
                    holders[beer].remove(other)
                    taken[other].remove(beer)
                    holders[beer].append(block)
                    taken[block].add(beer)
                    return True
        return False

    for block in range(len(left)):
        for _ in range(per_block):
            if not take(block, set()):
                raise AssertionError("a balanced design always has its places")
    return taken
