"""What the statistics of hits and false alarms hand back: plain frozen values, like `results`."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from panel.core.statistics.results import DPrimeEstimate, Interval, Plain


class RateTestKind(StrEnum):
    """Which exact test holds two rates against each other."""

    FISHER = "fisher"  # two groups of tasters, one answer each
    MCNEMAR = "mcnemar"  # the same tasters give both answers


@dataclass(frozen=True)
class Rates:
    """What was counted. A hit is the answer in question where it is true, a false alarm the same
    answer where it is not.

    `first_only` and `second_only` are of paired tasters, who gave both answers: a hit and no false
    alarm, a false alarm and no hit. None where each taster gave one answer.
    """

    hits: int
    targets: int
    false_alarms: int
    others: int
    first_only: int | None = None
    second_only: int | None = None

    @property
    def paired(self) -> bool:
        """Whether every taster gave both answers."""
        return self.first_only is not None


@dataclass(frozen=True)
class RateTest(Plain):
    """Exact one-sided test that the hit rate is above the false-alarm rate.

    `difference` is hit rate minus false-alarm rate; its interval is Newcombe's, two-sided.
    """

    kind: RateTestKind
    alpha: Fraction
    p_value: float
    significant: bool
    hit_rate: float
    false_alarm_rate: float
    hit_interval: Interval
    false_alarm_interval: Interval
    difference: float
    interval: Interval


@dataclass(frozen=True)
class Sensitivity(Plain):
    """d-prime and where people draw the line.

    `criterion`: in a yes-no task how far the line lies from the middle between the two drinks
    (above 0: the answer in question is given sparingly), in a same-different task tau, the
    difference from which on a pair is called different; None where a rate of 0 or 1 leaves it
    without bound.
    """

    d_prime: DPrimeEstimate
    criterion: float | None


@dataclass(frozen=True)
class RatesNeeded(Plain):
    """How many tasters a plan needs. `first_tasters` is the first number whose power suffices,
    `holding_tasters` the one from which it never falls short again among all numbers tried, which
    end at `tried`."""

    first_tasters: int
    holding_tasters: int
    tried: int
    power: float
