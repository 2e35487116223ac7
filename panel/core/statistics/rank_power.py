"""How many tasters a ranking needs, if so many in 100 of them truly tell and the others guess.

For the test that all drinks are alike: one drink differs from the others, the tasters who tell put
it at the same end, everything else is chance. The statistic is then nearly noncentral chi-square
with λ = 3 n s² k (k − 1) / (t (k + 1)), s the share who tell, n tasters, k of t drinks a tray. For
a trend: those who tell give the whole order as named; z shifts by s √(n (k − 1)). Both follow
from the mean ranks, with the spread of ranks as it is without a difference: an approximation, good
to about 8 in 100 for panels of a dozen and more (the tests hold it against simulated ones).
"""

import math

from scipy.special import chdtri, chndtr, ndtr, ndtri

from panel.core.statistics.inputs import MAX_TASTERS, Exact, check_alpha, check_pd, check_power


def ranking_power(
    tasters: int, drinks: int, cups: int, share: Exact, alpha: Exact, *, trend: bool = False
) -> float:
    """The probability of showing a difference with so many tasters, `share` of them telling."""
    return _power(tasters, drinks, cups, float(check_pd(share)), float(check_alpha(alpha)), trend)


def ranking_tasters(
    drinks: int, cups: int, share: Exact, alpha: Exact, power: Exact, *, trend: bool = False
) -> int | None:
    """The smallest number of tasters that has the power; None beyond MAX_TASTERS."""
    part, risk = float(check_pd(share)), float(check_alpha(alpha))
    target = float(check_power(power))
    low, high = 1, 2
    while _power(high, drinks, cups, part, risk, trend) < target:
        low, high = high, 2 * high
        if low > MAX_TASTERS:
            return None
    while low < high:
        middle = (low + high) // 2
        if _power(middle, drinks, cups, part, risk, trend) >= target:
            high = middle
        else:
            low = middle + 1
    return high if high <= MAX_TASTERS else None


def ranking_detectable(
    tasters: int, drinks: int, cups: int, alpha: Exact, power: Exact, *, trend: bool = False
) -> float | None:
    """The smallest share of tasters who tell that is found with the power; None where even all of
    them telling would not be."""
    risk, target = float(check_alpha(alpha)), float(check_power(power))
    if _power(tasters, drinks, cups, 1.0, risk, trend) < target:
        return None
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        if _power(tasters, drinks, cups, middle, risk, trend) >= target:
            high = middle
        else:
            low = middle
    return high


def _power(tasters: int, drinks: int, cups: int, share: float, alpha: float, trend: bool) -> float:
    if trend:
        return float(ndtr(share * math.sqrt(tasters * (cups - 1)) + ndtri(alpha)))
    away = 3 * tasters * share**2 * cups * (cups - 1) / (drinks * (cups + 1))
    return float(1 - chndtr(chdtri(drinks - 1, alpha), drinks - 1, away))
