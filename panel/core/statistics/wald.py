"""Wald's sequential test: after each ballot, enough for a difference, enough for none, or go on.

Wald 1947, Sequential Analysis; the method of ISO 16820. With g = ln[p1 (1 − p0) / (p0 (1 − p1))],
right answers s of n: a difference where s ≥ ln((1 − beta)/alpha)/g + n k, none of that size where
s ≤ ln(beta/(1 − alpha))/g + n k, k = ln((1 − p0)/(1 − p1))/g. The true risks are at most
alpha/(1 − beta) and beta/(1 − alpha); `followed` computes them, and the ballots that it takes,
exactly, where Wald's formulas leave out how far a count oversteps its line.
"""

import math
from fractions import Fraction

import numpy as np

from panel.core.statistics.inputs import Exact, check_alpha, check_beta, check_pc, check_rule
from panel.core.statistics.results import Sequential, WaldLines
from panel.core.statistics.tails import Floats

MOST_BALLOTS = 5_000


def wald_lines(chance: Fraction, pc: Fraction, alpha: Exact, beta: Exact) -> WaldLines:
    """The two lines for a proportion correct of `pc` against guessing, chance < pc < 1.

    ValueError where alpha + beta is 1 or more, or pc is 1: there are no lines then.
    """
    check_rule(chance, 1)
    check_pc(chance, pc)
    a, b = check_alpha(alpha), check_beta(beta)
    if a + b >= 1 or pc == 1:
        raise ValueError("no lines for risks that add up to 1, or for a certain answer")
    gain = math.log(pc * (1 - chance) / (chance * (1 - pc)))
    return WaldLines(
        slope=math.log((1 - chance) / (1 - pc)) / gain,
        low=math.log(b / (1 - a)) / gain,
        high=math.log((1 - b) / a) / gain,
    )


def followed(lines: WaldLines, pc: Fraction, ballots: int = MOST_BALLOTS) -> Sequential:
    """What the lines lead to if each ballot is right with probability pc: exact, by recursion over
    the counts of those who go on. ValueError for more than 5,000 ballots."""
    if not 1 <= ballots <= MOST_BALLOTS:
        raise ValueError(f"1 to {MOST_BALLOTS} ballots can be followed, not {ballots}")
    p = float(pc)
    going: Floats = np.array([1.0])
    different = alike = expected = 0.0
    for n in range(1, ballots + 1):
        expected += float(going.sum())
        after = np.zeros(n + 1)
        after[:-1] += going * (1 - p)
        after[1:] += going * p
        counts = np.arange(n + 1)
        above = counts >= lines.high + lines.slope * n
        below = counts <= lines.low + lines.slope * n
        different += float(after[above].sum())
        alike += float(after[below].sum())
        after[above | below] = 0.0
        going = after
        if going.sum() < 1e-12:
            break
    return Sequential(different, alike, expected)
