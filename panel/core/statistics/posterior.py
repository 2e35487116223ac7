"""The Bayesian reading of a count under a flat prior: what is still likely, once it is seen.

Prior: every proportion of discriminators from 0 to 1 equally likely, which is to say every
proportion correct from chance to 1. The posterior of the proportion correct is then the beta
distribution with x + 1 and n − x + 1, cut off below chance (Bayes 1763, Phil Trans 53:370; Gelman
et al., Bayesian Data Analysis, 2.4, from memory). With two sides nobody knows which drink it is,
and the prior is flat on the share that chooses one of them, 0 to 1, not cut off.
"""

from fractions import Fraction

from scipy.special import betaincc, betainccinv

from panel.core.statistics.inputs import Exact, check_confidence, check_count, check_pc, check_rule
from panel.core.statistics.results import Interval, IntervalMethod, Posterior

LEAST_MASS = 1e-6
"""Where less than this of the beta lies above chance, the prior is what was wrong."""


def flat_posterior(
    correct: int,
    n: int,
    chance: Fraction,
    pc_limit: Fraction,
    confidence: Exact,
    sides: int = 1,
) -> Posterior | None:
    """Median, central interval, and the probability of more than the limit.

    pc_limit: proportion correct at the limit, chance < pc_limit <= 1. One side: median and interval
    are of the proportion of discriminators. Two sides: of the share that chose the drink counted,
    and beyond the limit is as uneven as pc_limit or more, whichever way. None where the count is so
    far below chance that a prior without anything below chance cannot be meant. PanelError (input)
    for an impossible count.
    """
    check_count(correct, n)
    check_rule(chance, sides)
    check_pc(chance, pc_limit)
    level = check_confidence(confidence)
    a, b = correct + 1, n - correct + 1
    least = 0.0 if sides == 2 else float(chance)
    mass = float(betaincc(a, b, least))
    if mass < LEAST_MASS:
        return None

    def quantile(above: float) -> float:
        """The value that so much of the posterior lies above."""
        share = float(betainccinv(a, b, above * mass))
        return max(0.0, (share - least) / (1 - least))

    beyond = float(betaincc(a, b, float(pc_limit))) / mass
    if sides == 2:
        beyond += float(betaincc(b, a, float(pc_limit)))
    tail = float((1 - level) / 2)
    interval = Interval(
        quantile(1 - tail), quantile(tail), float(level), IntervalMethod.CENTRAL_POSTERIOR
    )
    return Posterior(quantile(0.5), interval, min(1.0, beyond))
