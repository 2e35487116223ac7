"""How many tasters: the first number that reaches the power, and the number from which it holds.

Power is not monotone in the number of tasters n: it climbs while the critical number stays and
drops where the critical number rises. The standards' tables (ISO 4120, ISO 10399, ISO 5495,
ASTM E1885) print the first n that reaches the target; the number recommended here is the one from
which power never falls below it again (as Ennis & Jesionka 2011, J Sensory Studies 26:371–382).

How far must one look to be sure that power never falls again? Write KL(t, p) for the divergence
t ln(t/p) + (1−t) ln((1−t)/(1−p)), and take any t between chance p0 and pc. By Chernoff's bound
  P(X >= tn | p0) <= exp(−n KL(t, p0)) and P(X <= tn | pc) <= exp(−n KL(t, pc)).
Once n KL(t, p0) >= ln(1/alpha), the critical number c is at most ceil(tn), so c − 1 < tn; once also
n KL(t, pc) >= ln(1/beta), P(X <= c − 1 | pc) <= beta: the power suffices. Both conditions stay true
for every larger n, so it suffices from there on (`_sure`), and only smaller n need be searched.

They are searched in blocks low..high, since with growing n both X (stochastically) and the critical
number c never decrease (P(X' >= x) >= P(X >= x) with a taster more): the power anywhere in a block
is at least P(X_low >= c_high | pc) and at most P(X_high >= c_low | pc).
"""

import math
from fractions import Fraction

import numpy as np

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.statistics.binomial import critical_numbers, max_correct
from panel.core.statistics.inputs import (
    MAX_TASTERS,
    Exact,
    check_alpha,
    check_beta,
    check_pc,
    check_rule,
)
from panel.core.statistics.results import PlanNumbers, SimilarityLimit
from panel.core.statistics.tails import Bools, Ints, lower_tail, upper_at_most, upper_tail

_FURTHEST = 10_000_000  # past this the search is given up; only hopeless plans come here
_BLOCK = 64


def least_tasters(chance: Fraction) -> int:
    """Where the search begins, as in the standards' tables: three for chance 1/3, otherwise two."""
    return 3 if chance == Fraction(1, 3) else 2


def plan_difference(
    chance: Fraction, alpha: Exact, beta: Exact, pc: Fraction, sides: int = 1
) -> PlanNumbers:
    """Tasters needed to find a difference of size pc (chance < pc <= 1) at risks alpha and beta.

    PanelError (input) where more than 100,000 tasters would be needed.
    """
    search = _Search(chance, alpha, beta, pc, sides)
    first, holding = search.first_and_holding()
    critical = search.critical(holding)
    power = float(upper_tail(critical, holding, pc))
    return PlanNumbers(first, holding, holding, critical, power, None)


def plan_similarity(
    chance: Fraction, alpha: Exact, limit: SimilarityLimit, sides: int = 1
) -> PlanNumbers:
    """Tasters needed to rule out a difference of size limit.pc at risk limit.beta.

    The numbers of tasters obey the same inequality as for a difference. `max_correct` is the
    largest x with P(X <= x | pc) <= beta, and `power` the chance of staying within it when there is
    no difference at all: P(X <= max_correct | chance), or with two sides that of the larger count.
    """
    search = _Search(chance, alpha, limit.beta, limit.pc, sides)
    first, holding = search.first_and_holding()
    most = max_correct(holding, limit.pc, limit.beta)
    assert most is not None  # enough power means P(X <= critical number − 1 | pc) <= beta
    power = power_of_similarity(most, holding, chance, sides)
    return PlanNumbers(first, holding, holding, search.critical(holding), power, most)


def power_of_similarity(most: int, n: int, chance: Fraction, sides: int) -> float:
    """Chance that guessing alone gives at most `most` right answers of n.

    With two sides: that neither count is larger than `most`.
    """
    if sides == 1:
        return float(lower_tail(most, n, chance))
    return max(0.0, 1 - 2 * float(upper_tail(most + 1, n, chance)))


class _Search:
    """The search for first and holding number of one plan."""

    def __init__(
        self, chance: Fraction, alpha: Exact, beta: Exact, pc: Fraction, sides: int
    ) -> None:
        check_rule(chance, sides)
        self.chance = chance
        self.bound = check_alpha(alpha) / sides
        self.beta = check_beta(beta)
        self.pc = check_pc(chance, pc)

    def first_and_holding(self) -> tuple[int, int]:
        """First and holding number of tasters, or a refusal past MAX_TASTERS."""
        least = least_tasters(self.chance)
        sure = max(least, self._sure())
        # Asked before searching, which takes seconds where the answer lies far past the limit.
        if sure > _FURTHEST or (sure > MAX_TASTERS and not self._enough_at(MAX_TASTERS)):
            raise _too_large()
        short = self._last_short(least, sure)
        holding = least if short is None else short + 1
        first = self._first_enough(least, holding)
        if first is None or holding > MAX_TASTERS:
            raise _too_large()
        return first, holding

    def critical(self, n: int) -> int:
        """Critical number at n; n + 1 where none reaches alpha."""
        return int(critical_numbers(np.array([n]), self.chance, self.bound)[0])

    def _enough(self, n: Ints, critical: Ints) -> Bools:
        """Is P(X >= critical | n, pc) >= 1 − beta? Asked as P(X <= critical − 1) <= beta."""
        return upper_at_most(n - critical + 1, n, 1 - self.pc, self.beta)

    def _enough_at(self, n: int) -> bool:
        return bool(self._enough(np.array([n]), np.array([self.critical(n)]))[0])

    def _enough_each(self, low: int, high: int) -> tuple[Ints, Bools]:
        n = np.arange(low, high + 1)
        return n, self._enough(n, critical_numbers(n, self.chance, self.bound))

    def _last_short(self, low: int, high: int) -> int | None:
        """Largest n in low..high whose power falls short."""
        if self._enough(np.array([low]), np.array([self.critical(high)]))[0]:
            return None
        if high - low < _BLOCK:
            n, enough = self._enough_each(low, high)
            return None if enough.all() else int(n[~enough][-1])
        middle = (low + high) // 2
        upper = self._last_short(middle + 1, high)
        return upper if upper is not None else self._last_short(low, middle)

    def _first_enough(self, low: int, high: int) -> int | None:
        """Smallest n in low..high whose power suffices."""
        if not self._enough(np.array([high]), np.array([self.critical(low)]))[0]:
            return None
        if high - low < _BLOCK:
            n, enough = self._enough_each(low, high)
            return int(n[enough][0]) if enough.any() else None
        middle = (low + high) // 2
        lower = self._first_enough(low, middle)
        return lower if lower is not None else self._first_enough(middle + 1, high)

    def _sure(self) -> int:
        """A number of tasters from which on the power suffices, by Chernoff's bound (see top)."""
        p0, pc = float(self.chance), float(self.pc)
        for_alpha, for_beta = -math.log(self.bound), -math.log(self.beta)
        low, high = p0, pc
        for _ in range(60):
            t = (low + high) / 2
            if for_alpha / _divergence(t, p0) > for_beta / _divergence(t, pc):
                low = t
            else:
                high = t
        # Any t would do; the allowance is for rounding in the logarithms.
        enough = max(for_alpha / _divergence(t, p0), for_beta / _divergence(t, pc))
        return math.ceil(enough * (1 + 1e-6)) + 1 if enough < _FURTHEST else _FURTHEST + 1


def _too_large() -> PanelError:
    message = say(
        "No number of tasters up to %(limit)s is sure to be enough to find a difference this "
        "small. Plan for a larger difference, or accept larger risks.",
        limit=MAX_TASTERS,
    )
    return PanelError("plan-too-large", message)


def _divergence(t: float, p: float) -> float:
    """Kullback–Leibler divergence of a coin with t from one with p, at least a tiny number."""
    if p >= 1:
        return math.inf
    rest = 0.0 if t >= 1 else (1 - t) * math.log((1 - t) / (1 - p))
    return max(t * math.log(t / p) + rest, 1e-300)
