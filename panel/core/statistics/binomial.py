"""Exact binomial decisions: critical numbers, p-values, and the similarity maximum.

A tail that equals alpha (or beta) reaches it. Sources: critical numbers as in ISO 4120, ISO 10399
and ISO 5495 (exact binomial, "<= alpha"); similarity maximum as in their similarity tables.
"""

from fractions import Fraction

import numpy as np
from scipy.special import ndtri

from panel.core.statistics.inputs import (
    Exact,
    check_alpha,
    check_beta,
    check_count,
    check_pc,
    check_rule,
    check_tasters,
)
from panel.core.statistics.results import BinomialTest, SimilarityLimit, SimilarityTest
from panel.core.statistics.tails import Ints, lower_tail, upper_at_most, upper_tail


def critical_numbers(n: Ints, p: Fraction, bound: Fraction) -> Ints:
    """Smallest x with P(X >= x | n, p) <= bound for each n; n + 1 where no count reaches it.

    Guessed from the normal curve with its skewness term, then walked to the exact place.
    """
    mean, spread = n * float(p), np.sqrt(n * float(p * (1 - p)))
    z = float(np.clip(-ndtri(float(bound)), -40, 40))
    skew = (z * z - 1) * float(1 - 2 * p) / 6
    x: Ints = np.clip(np.ceil(mean + z * spread + skew + 0.5), 1, n + 1).astype(np.int64)
    while (short := ~upper_at_most(x, n, p, bound)).any():
        x = x + short
    while (more := upper_at_most(x - 1, n, p, bound)).any():
        x = x - more
    return x


def critical_number(n: int, chance: Fraction, alpha: Exact, sides: int = 1) -> int | None:
    """Smallest number of correct answers of n that reaches alpha; None where none does.

    Two sides (chance 1/2 only): smallest x with 2 P(X >= x | n, 1/2) <= alpha, to be compared
    with the larger of the two counts.
    """
    check_tasters(n)
    check_rule(chance, sides)
    x = int(critical_numbers(np.array([n]), chance, check_alpha(alpha) / sides)[0])
    return x if x <= n else None


def max_correct(n: int, pc: Fraction, beta: Exact) -> int | None:
    """Largest x with P(X <= x | n, pc) <= beta; None where even x = 0 is too likely.

    Counted in wrong answers it is a critical number: P(X <= x | pc) = P(n - X >= n - x | 1 - pc).
    """
    check_tasters(n)
    wrong = int(critical_numbers(np.array([n]), 1 - pc, check_beta(beta))[0])
    return n - wrong if wrong <= n else None


def counted(correct: int, n: int, sides: int) -> int:
    """The count that is compared with a critical number: with two sides the larger of the two."""
    return correct if sides == 1 else max(correct, n - correct)


def p_value(correct: int, n: int, chance: Fraction, sides: int = 1) -> float:
    """P(X >= correct | n, chance); two sides: min(1, 2 P(X >= larger count))."""
    check_count(correct, n)
    check_rule(chance, sides)
    tail = float(upper_tail(counted(correct, n, sides), n, chance))
    return min(1.0, sides * tail)


def binomial_test(
    correct: int, n: int, chance: Fraction, alpha: Exact, sides: int = 1
) -> BinomialTest:
    """Is `correct` of n more than guessing gives? One-sided upwards, or two-sided at chance 1/2."""
    p = p_value(correct, n, chance, sides)
    critical = critical_number(n, chance, alpha, sides)
    significant = critical is not None and counted(correct, n, sides) >= critical
    risk = check_alpha(alpha)
    return BinomialTest(correct, n, chance, sides, risk, p, critical, significant)


def similarity_test(
    correct: int, n: int, chance: Fraction, limit: SimilarityLimit, sides: int = 1
) -> SimilarityTest:
    """Is `correct` of n so few that a difference as large as the limit can be ruled out at beta?

    p-value: P(X <= correct | n, limit.pc). With two sides the larger count is compared, which
    keeps beta because P(larger count <= x) <= P(X <= x).
    """
    check_count(correct, n)
    check_rule(chance, sides)
    check_pc(chance, limit.pc)
    count = counted(correct, n, sides)
    most = max_correct(n, limit.pc, limit.beta)
    p = float(lower_tail(count, n, limit.pc))
    similar = most is not None and count <= most
    return SimilarityTest(correct, n, chance, sides, limit, p, most, similar)
