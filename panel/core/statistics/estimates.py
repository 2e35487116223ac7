"""What a count says about its tasters: proportion correct, discriminators, d-prime.

Each interval is the exact interval of the proportion carried through the same rising function as
the estimate, so it is never symmetric near chance, where d-prime has no standard error to speak of
(its slope against the proportion is infinite there where no attribute is named).
"""

from fractions import Fraction

from panel.core.statistics.dprime import d_prime_from_pc
from panel.core.statistics.inputs import Exact, check_count, check_pd, check_rule
from panel.core.statistics.intervals import clopper_pearson
from panel.core.statistics.links import Link, chance_of
from panel.core.statistics.results import DPrimeEstimate, DPrimeInterval, Estimate, Interval


def pc_at_pd(chance: Fraction, pd: Exact) -> Fraction:
    """Proportion correct if a share pd (0 < pd <= 1) truly tell apart and the others guess.

    pc = p0 + pd (1 − p0); ISO 4120 writes it pd + (1 − pd)/3. For a two-sided paired comparison
    it is the p_max of ISO 5495, 1/2 + pd/2.
    """
    check_rule(chance, 1)
    return chance + check_pd(pd) * (1 - chance)


def proportion(correct: int, n: int, confidence: Exact) -> Estimate:
    """Proportion correct with its exact (Clopper–Pearson) interval."""
    interval = clopper_pearson(correct, n, confidence)
    return Estimate(correct / n, interval)


def discriminators(correct: int, n: int, chance: Fraction, confidence: Exact) -> Estimate:
    """Proportion of discriminators (pc − p0)/(1 − p0): below 0 where fewer than guessing gives."""
    check_count(correct, n)
    check_rule(chance, 1)
    pc = clopper_pearson(correct, n, confidence)
    low, high = (float((Fraction(end) - chance) / (1 - chance)) for end in (pc.low, pc.high))
    value = (Fraction(correct, n) - chance) / (1 - chance)
    return Estimate(float(value), Interval(low, high, pc.confidence, pc.method))


def d_prime(correct: int, n: int, link: Link, confidence: Exact, sides: int = 1) -> DPrimeEstimate:
    """d-prime of a count: 0 at or below chance, None where everybody was correct; ends likewise.

    With two sides it is signed: negative where the other drink was chosen more often.
    """
    check_count(correct, n)
    check_rule(chance_of(link), sides)
    signed = sides == 2
    pc = clopper_pearson(correct, n, confidence)
    low, high = (d_prime_from_pc(link, end, signed=signed) for end in (pc.low, pc.high))
    value = d_prime_from_pc(link, Fraction(correct, n), signed=signed)
    return DPrimeEstimate(value, DPrimeInterval(low, high, pc.confidence, pc.method))
