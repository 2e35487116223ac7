"""What the statistics of ranks and paired scores hand back: plain frozen values, like `results`."""

from dataclasses import dataclass

from panel.core.statistics.results import Interval, Plain


@dataclass(frozen=True)
class RankTest(Plain):
    """Are several drinks alike in rank? `sums` are rank sums, 1 being the first of a tray.

    `tasted` is how many tasters had each drink. Statistic: Friedman's where everybody had all,
    Durbin's in a balanced incomplete design, else their common form. `exact`: every arrangement
    was counted; else chi-square with `freedom` degrees.
    """

    drinks: tuple[str, ...]
    tasters: int
    tasted: tuple[int, ...]
    sums: tuple[float, ...]
    complete: bool
    statistic: float
    freedom: int
    p_value: float
    exact: bool
    significant: bool

    @property
    def means(self) -> tuple[float, ...]:
        """The mean rank of each drink."""
        return tuple(s / n for s, n in zip(self.sums, self.tasted, strict=True))

    @property
    def agreement(self) -> float | None:
        """Kendall's W, 0 (no two tasters alike) to 1 (all gave the same order): Friedman's
        statistic over its largest value. None in incomplete designs."""
        if not self.complete:
            return None
        return self.statistic / (self.tasters * (len(self.drinks) - 1))


@dataclass(frozen=True)
class RankPair(Plain):
    """Two drinks out of several: second minus first mean rank, and what it is in standard errors.

    `p_alone` is for a pair that was named beforehand (least significant difference), `p_together`
    holds for all pairs at once (honestly significant difference); both from the normal curve.
    """

    first: str
    second: str
    difference: float
    z: float
    p_alone: float
    p_together: float
    apart_alone: bool
    apart_together: bool


@dataclass(frozen=True)
class RankPairs(Plain):
    """All pairs, and by how much two mean ranks have to differ: alone, and all pairs together.

    The distances are None where the counted trays are not balanced: there each pair has its own.
    """

    pairs: tuple[RankPair, ...]
    distance_alone: float | None
    distance_together: float | None


@dataclass(frozen=True)
class TrendTest(Plain):
    """Do ranks follow an order that was named beforehand? Page's L, large where they do."""

    statistic: float
    expected: float
    p_value: float
    exact: bool
    significant: bool


@dataclass(frozen=True)
class SignedTest(Plain):
    """Two scores of the same tasters: `statistic` as the function says, `zeros` gave no difference.

    `exact`: all ways of turning differences round were counted; else the normal curve.
    """

    tasters: int
    zeros: int
    statistic: float
    p_value: float
    exact: bool
    significant: bool


@dataclass(frozen=True)
class EffectWithin(Plain):
    """Mean difference within tasters and its interval; and in standard deviations of the
    differences, None where the differences do not vary."""

    tasters: int
    mean: float
    mean_interval: Interval | None
    effect: float | None
    effect_interval: Interval | None
