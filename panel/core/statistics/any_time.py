"""Evidence that may be looked at after every ballot: the e-value, and what looking often costs.

E is the probability of the answers so far, averaged over every proportion correct from chance to 1
with equal weight, in units of their probability under guessing. Under guessing it is a martingale
that begins at 1, so that the probability that it ever reaches 1/alpha is at most alpha, however
often anybody looks (Ville 1939; Robbins 1970, Ann Math Stat 41:1397–1409). Exact in fractions.
"""

from fractions import Fraction
from functools import cache
from math import comb

import numpy as np

from panel.core.statistics.inputs import Exact, check_alpha, check_count, check_pc, check_rule
from panel.core.statistics.results import Stopping
from panel.core.statistics.tails import Floats, exact_upper_tail

MOST_BALLOTS = 1_000  # followed one by one; a taproom evening has fewer


def e_value(correct: int, n: int, chance: Fraction) -> Fraction:
    """Evidence against guessing after n ballots, 1 before the first.

    E(n, s) = [1 − I_p0(s+1, n−s+1)] B(s+1, n−s+1) / ((1 − p0) p0^s (1 − p0)^(n−s)), where the
    incomplete beta function is a binomial sum: 1 − I_p0(s+1, n−s+1) = P(X ≤ s | n+1, p0).
    PanelError (input) for an impossible count.
    """
    check_rule(chance, 1)
    if n == 0:
        return Fraction(1)
    check_count(correct, n)
    numerator, denominator = exact_upper_tail(correct + 1, n + 1, chance)
    below = 1 - Fraction(numerator, denominator)
    guessed = chance**correct * (1 - chance) ** (n - correct)
    return below / ((n + 1) * comb(n, correct) * (1 - chance) * guessed)


@cache
def deciding_counts(chance: Fraction, alpha: Fraction, ballots: int) -> tuple[int | None, ...]:
    """After 1, 2, … ballots: the smallest count whose evidence reaches 1/alpha, None for none.

    The counts never fall, and from one ballot to the next they rise by at most one, so that each
    is found from the one before it.
    """
    found: list[int | None] = []
    least = 0
    for n in range(1, ballots + 1):
        while least <= n and e_value(least, n, chance) * alpha < 1:
            least += 1
        found.append(least if least <= n else None)
    return tuple(found)


def stopping(chance: Fraction, alpha: Exact, pc: Fraction, ballots: int) -> Stopping:
    """When watching stops, if each ballot is right with probability pc, chance <= pc <= 1.

    Exact, ballot by ballot up to `ballots` (at most 1,000): the probability of having stopped at
    each, and the ballots by which half and four fifths of such evenings have stopped.
    ValueError for more ballots. At pc = chance this is the risk of a false alarm.
    """
    risk = check_alpha(alpha)
    if pc != chance:
        check_pc(chance, pc)
    if not 1 <= ballots <= MOST_BALLOTS:
        raise ValueError(f"1 to {MOST_BALLOTS} ballots can be followed, not {ballots}")
    return Stopping(_stopped(deciding_counts(chance, risk, ballots), float(pc)))


def looked_at(critical: tuple[int | None, ...], pc: float) -> tuple[float, ...]:
    """The probability of having stopped by each ballot where the count is held against `critical`
    after every one: of critical numbers made for one look it is what looking often does."""
    return Stopping(_stopped(critical, pc)).by_ballot


def _stopped(critical: tuple[int | None, ...], pc: float) -> tuple[float, ...]:
    """Followed by recursion over the counts of those who have not stopped."""
    going: Floats = np.zeros(len(critical) + 2)
    going[0] = 1.0
    stopped, by_ballot = 0.0, []
    for mark in critical:
        going[1:] = going[1:] * (1 - pc) + going[:-1] * pc
        going[0] *= 1 - pc
        if mark is not None:
            stopped += float(going[mark:].sum())
            going[mark:] = 0.0
        by_ballot.append(min(1.0, stopped))
    return tuple(by_ballot)
