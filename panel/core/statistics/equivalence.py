"""Are two shares alike within a margin? Two one-sided exact tests, both at alpha.

Schuirmann 1987, J Pharmacokinet Biopharm 15:657–680: that the shares differ by the margin or more
is refused on either side; alpha is not halved, for only one of the two can be true. Each test is
exact and unconditional (Chan 1998, Stat Med 17:1403–1413): tables are ordered by the distance of
their difference from the margin, in standard errors of shares to which one right and one wrong
answer are added (Agresti & Caffo 2000, Am Stat 54:280–288), and p is the largest probability, over
every pair of shares that lie the margin apart, of a table as far or farther.
"""

from fractions import Fraction

import numpy as np
from scipy.special import gammaln, xlog1py, xlogy

from panel.core.statistics.inputs import Exact, check_alpha, check_count, exact
from panel.core.statistics.results import Equivalence
from panel.core.statistics.tails import Bools, Floats

MOST_TOGETHER = 2_000  # both groups together; beyond it the exact test takes too long for a page
STEPS = 200  # pairs of shares tried in the first round
ZOOM = 40  # pairs tried between the neighbours of the best one
NEAR = 1e-9  # equal distances differ in the last digits


def equivalent(
    correct_1: int, n_1: int, correct_2: int, n_2: int, margin: Exact, alpha: Exact
) -> Equivalence | None:
    """Are the shares within the margin (0 < margin < 1)? The larger of two p-values.

    None where there are over 2,000 together, or the margin is 1 or more and so always kept.
    PanelError (input) for an empty group or an impossible count.
    """
    check_count(correct_1, n_1)
    check_count(correct_2, n_2)
    risk, within = check_alpha(alpha), exact(margin)
    if n_1 + n_2 > MOST_TOGETHER or not 0 < within < 1:
        return None
    p = max(
        _below(correct_1, n_1, correct_2, n_2, float(within)),
        _below(correct_2, n_2, correct_1, n_1, float(within)),
    )
    return Equivalence(float(within), p, alike=Fraction(p) <= risk)


def _below(x: int, n: int, y: int, m: int, margin: float) -> float:
    """p-value of "the first share is above the second by the margin or more"."""
    distance = _distance(n, m, margin)
    as_far = distance <= distance[x, y] + NEAR
    second = np.linspace(0, 1 - margin, STEPS + 1)
    found = _probability(as_far, n, m, second, margin)
    best = int(np.argmax(found))
    ends = second[max(0, best - 1)], second[min(STEPS, best + 1)]
    closer = _probability(as_far, n, m, np.linspace(*ends, ZOOM + 1), margin)
    return min(1.0, float(max(found.max(), closer.max())))


def _distance(n: int, m: int, margin: float) -> Floats:
    """(n + 1, m + 1): how far each table's difference lies from the margin, below it negative."""
    first = (np.arange(n + 1)[:, None] + 1) / (n + 2)
    second = (np.arange(m + 1)[None, :] + 1) / (m + 2)
    spread = first * (1 - first) / (n + 2) + second * (1 - second) / (m + 2)
    return np.asarray((first - second - margin) / np.sqrt(spread))


def _probability(as_far: Bools, n: int, m: int, second: Floats, margin: float) -> Floats:
    """Of the marked tables, at each second share; the first lies the margin above it."""
    first, other = _binomial(n, np.minimum(1, second + margin)), _binomial(m, second)
    return np.asarray(np.einsum("ij,ij->i", first @ as_far, other))


def _binomial(n: int, share: Floats) -> Floats:
    """(shares, n + 1): the probability of each count at each share."""
    k = np.arange(n + 1)
    ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    at = share[:, None]
    return np.asarray(np.exp(ways + xlogy(k, at) + xlog1py(n - k, -at)))
