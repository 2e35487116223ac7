"""What combining panels hands in and back; standard library only."""

from dataclasses import dataclass
from fractions import Fraction

from panel.core.statistics.results import Estimate, Plain


@dataclass(frozen=True)
class Panel:
    """One count of right answers, each taster once, and the chance of being right by guessing."""

    correct: int
    tasters: int
    chance: Fraction


@dataclass(frozen=True)
class Combined(Plain):
    """Several panels together: `weights` (sum 1) in the order of the panels, the `common`
    proportion of discriminators, Cochran's Q with its degrees of freedom and the chi-square's
    p-value, I² in 0..1, tau², and the `mean` over panels that differ (None where all were right).
    """

    panels: int
    tasters: int
    weights: tuple[float, ...]
    common: Estimate
    q: float
    freedom: int
    p_value: float
    i_squared: float
    tau_squared: float
    mean: Estimate | None
