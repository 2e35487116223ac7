"""How often guessing alone gives each count: the ground on which a finding stands out or not."""

import math
from fractions import Fraction


def guessing_distribution(tasters: int, chance: Fraction) -> tuple[float, ...]:
    """P(X = 0), …, P(X = tasters) for X binomial(tasters, chance), 0 < chance < 1."""
    hit, miss = math.log(chance), math.log(1 - chance)
    return tuple(
        math.exp(
            math.lgamma(tasters + 1)
            - math.lgamma(right + 1)
            - math.lgamma(tasters - right + 1)
            + right * hit
            + (tasters - right) * miss
        )
        for right in range(tasters + 1)
    )
