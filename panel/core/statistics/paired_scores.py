"""Two scores from each taster: exact tests that neither drink scores higher, and how large it is.

Scores are whole numbers, so the distribution over all ways of turning each taster's difference
round is counted exactly for panels of any usual size; beyond it (some hundreds of tasters on a
scale of 100) the normal curve takes over and the result says so. Two-sided. Differences are second
minus first.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

from scipy.special import nctdtrinc, ndtr, stdtrit

from panel.core.statistics.inputs import Exact, check_alpha, check_confidence
from panel.core.statistics.rank_results import EffectWithin, SignedTest
from panel.core.statistics.ranks import doubled_ranks
from panel.core.statistics.results import Interval, IntervalMethod
from panel.core.statistics.tails import at_most
from panel.core.statistics.whole_sums import tail_of_sum


def paired_permutation(differences: Sequence[int], alpha: Exact) -> SignedTest:
    """Fisher's randomisation test of paired scores (Fisher 1935, The Design of Experiments,
    section 21): statistic the sum of differences; a difference of 0 stays where it is."""
    return _signed(differences, [abs(one) for one in differences], alpha, scale=1)


def wilcoxon(differences: Sequence[int], alpha: Exact) -> SignedTest:
    """The signed-rank test (Wilcoxon 1945, Biometrics Bulletin 1:80–83): differences of 0 are left
    out as he did it, equal ones share the mean of their ranks, and the distribution is the exact
    one of the ranks as they are. Statistic: the rank sum of positive less negative differences."""
    sizes = {str(at): abs(one) for at, one in enumerate(differences) if one}
    ranks = doubled_ranks(sizes)
    weights = [ranks.get(str(at), 0) for at in range(len(differences))]
    return _signed(differences, weights, alpha, scale=2)


def _signed(
    differences: Sequence[int], weights: Sequence[int], alpha: Exact, scale: int
) -> SignedTest:
    """The sum of signed weights against all ways of choosing the signs."""
    risk = check_alpha(alpha)
    zeros = sum(one == 0 for one in differences)
    total = sum(weights)
    signed = sum(
        weight if one > 0 else -weight for one, weight in zip(differences, weights, strict=True)
    )
    kept = [weight for weight in weights if weight]
    one_side = tail_of_sum([{0: 1, weight: 1} for weight in kept], (abs(signed) + total) // 2)
    if signed == 0:
        p, exact, significant = 1.0, True, False
    elif one_side is not None:
        two = 2 * Fraction(*one_side)
        p, exact = float(min(Fraction(1), two)), True
        significant = at_most(p, risk, two.as_integer_ratio)
    else:
        p = 2 * float(ndtr(-abs(signed) / math.sqrt(sum(weight**2 for weight in kept))))
        exact, significant = False, p <= risk
    return SignedTest(len(differences), zeros, signed / scale, p, exact, significant)


def effect_within(differences: Sequence[int], confidence: Exact) -> EffectWithin:
    """The mean difference with Student's interval, and in standard deviations of the differences
    (d_z of Cohen 1988, Statistical Power Analysis, 2.3.5) with the exact interval that follows
    from the noncentral t distribution if differences are normal (Cumming & Finch 2001, Educ Psychol
    Meas 61:532–574). Intervals are None where the differences do not vary, or there is only one."""
    level = float(check_confidence(confidence))
    n = len(differences)
    if n == 0:
        raise ValueError("there must be at least one taster")
    mean = sum(differences) / n
    squares = sum((one - mean) ** 2 for one in differences)
    if n < 2 or squares == 0:
        return EffectWithin(n, mean, None, None, None)
    deviation = math.sqrt(squares / (n - 1))
    error = deviation / math.sqrt(n)
    reach = float(stdtrit(n - 1, (1 + level) / 2)) * error
    t = mean / error
    ends = [float(nctdtrinc(n - 1, tail, t)) / math.sqrt(n) for tail in _tails(level)]
    return EffectWithin(
        tasters=n,
        mean=mean,
        mean_interval=Interval(mean - reach, mean + reach, level, IntervalMethod.STUDENT),
        effect=mean / deviation,
        effect_interval=Interval(ends[0], ends[1], level, IntervalMethod.NONCENTRAL_T),
    )


def _tails(level: float) -> tuple[float, float]:
    return (1 + level) / 2, (1 - level) / 2
