"""Exact power: the chance that a true difference of a given size reaches the critical number.

With two sides it is the power to find the difference in its true direction, as in the tables of
ISO 5495; the other side adds less than alpha / 2.
"""

from fractions import Fraction

import numpy as np
from scipy.special import betaincinv

from panel.core.errors import PanelError
from panel.core.message import say
from panel.core.statistics.binomial import critical_number, critical_numbers
from panel.core.statistics.inputs import (
    Exact,
    check_alpha,
    check_pc,
    check_power,
    check_rule,
    check_tasters,
)
from panel.core.statistics.results import PowerCurve
from panel.core.statistics.tails import upper_tail


def power_at(n: int, chance: Fraction, alpha: Exact, pc: Fraction, sides: int = 1) -> float:
    """P(X >= critical number | n, pc), chance < pc <= 1; 0 where no count reaches alpha."""
    check_pc(chance, pc)
    critical = critical_number(n, chance, alpha, sides)
    return 0.0 if critical is None else float(upper_tail(critical, n, pc))


def power_curve(
    low: int, high: int, chance: Fraction, alpha: Exact, pc: Fraction, sides: int = 1
) -> PowerCurve:
    """Exact power at every number of tasters low..high, both included: the saw-tooth."""
    check_tasters(low)
    check_tasters(high)
    if low > high:
        message = say("The smallest number of tasters cannot be above the largest.")
        raise PanelError("tasters-order", message, field="tasters")
    check_rule(chance, sides)
    check_pc(chance, pc)
    n = np.arange(low, high + 1)
    x = critical_numbers(n, chance, check_alpha(alpha) / sides)
    power = upper_tail(x, n, pc)
    critical = tuple(
        c if c <= size else None for c, size in zip(x.tolist(), n.tolist(), strict=True)
    )
    return PowerCurve(tuple(n.tolist()), critical, tuple(power.tolist()))


def smallest_detectable(
    n: int, chance: Fraction, alpha: Exact, power: Exact, sides: int = 1
) -> float | None:
    """Proportion of discriminators that n tasters find with the given power (for example 0.8).

    None where no count reaches alpha. Never below 0, which it would be only for power <= alpha.
    """
    target = check_power(power)
    critical = critical_number(n, chance, alpha, sides)
    if critical is None:
        return None
    pc = float(betaincinv(critical, n - critical + 1, float(target)))
    return max(0.0, (pc - float(chance)) / float(1 - chance))
