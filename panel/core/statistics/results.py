"""What the statistics hand back: frozen values with named fields, plain Python numbers throughout.

Standard library only, so that a caller can name these types without loading numpy. A number that
came out of numpy or scipy is forced to `int` or `float` at this border, and one that is not finite
is refused: no NaN and no Infinity ever leaves the room.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, fields
from enum import StrEnum
from fractions import Fraction
from typing import Any

from panel.core.statistics.inputs import Exact


def _real(value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"a result must be finite, not {number}")
    return number


def _or_none(force: Callable[[Any], Any]) -> Callable[[Any], Any]:
    return lambda value: None if value is None else force(value)


_FORCED: dict[Any, Callable[[Any], Any]] = {
    bool: bool,
    int: int,
    float: _real,
    int | None: _or_none(int),
    float | None: _or_none(_real),
    tuple[int, ...]: lambda values: tuple(map(int, values)),
    tuple[float, ...]: lambda values: tuple(map(_real, values)),
    tuple[int | None, ...]: lambda values: tuple(map(_or_none(int), values)),
}


class Plain:
    """Forces every field of a frozen dataclass to the plain type that it is declared with."""

    def __post_init__(self) -> None:
        for field in fields(self):  # type: ignore[arg-type]  # only dataclasses inherit from this
            force = _FORCED.get(field.type)
            if force is not None:
                object.__setattr__(self, field.name, force(getattr(self, field.name)))


class IntervalMethod(StrEnum):
    """How an interval was made; every interval says so."""

    CLOPPER_PEARSON = "clopper-pearson"
    WILSON = "wilson"
    NEWCOMBE = "newcombe"
    CENTRAL_POSTERIOR = "central posterior, flat prior"
    INVERTED = "exact test inverted"
    BOTH_RATES = "clopper-pearson of both rates, half the risk each"
    STUDENT = "t distribution"
    NONCENTRAL_T = "noncentral t distribution"
    WEIGHTED_SUM = "exact distribution of the weighted sum, inverted"
    HARTUNG_KNAPP = "t distribution, panels differing"


@dataclass(frozen=True)
class Interval(Plain):
    """Two-sided interval low..high; `confidence` in 0..1 is what both sides together promise."""

    low: float
    high: float
    confidence: float
    method: IntervalMethod


@dataclass(frozen=True)
class DPrimeInterval(Plain):
    """Interval of d-prime. An end is None where it has no bound: the proportion there is 0 or 1."""

    low: float | None
    high: float | None
    confidence: float
    method: IntervalMethod


@dataclass(frozen=True)
class Estimate(Plain):
    """An estimate and its interval."""

    value: float
    interval: Interval


@dataclass(frozen=True)
class DPrimeEstimate(Plain):
    """d-prime and its interval; None where it has no bound (everybody was correct)."""

    value: float | None
    interval: DPrimeInterval


@dataclass(frozen=True)
class Posterior(Plain):
    """A flat prior made over by a count: its median, the central interval around it, and the
    probability that the true value lies beyond a limit."""

    median: float
    interval: Interval
    beyond_limit: float


@dataclass(frozen=True)
class BinomialTest(Plain):
    """Exact test of `correct` out of `tasters` against guessing.

    `critical_number` is the smallest count that reaches alpha, None where none does. With two
    sides it is compared with the larger of the two counts.
    """

    correct: int
    tasters: int
    chance: Fraction
    sides: int
    alpha: Fraction
    p_value: float
    critical_number: int | None
    significant: bool


@dataclass(frozen=True)
class SimilarityLimit:
    """The largest difference that would not matter, and the risk of missing a larger one.

    `pc`: proportion correct at that difference, in chance < pc <= 1; `beta`: that risk.
    """

    pc: Fraction
    beta: Exact


@dataclass(frozen=True)
class SimilarityTest(Plain):
    """Exact test that the proportion correct lies below the limit.

    `max_correct` is the largest count that still shows it, None where no count does.
    """

    correct: int
    tasters: int
    chance: Fraction
    sides: int
    limit: SimilarityLimit
    p_value: float
    max_correct: int | None
    similar: bool


@dataclass(frozen=True)
class PlanNumbers(Plain):
    """How many tasters a plan needs; the last three hold at `tasters`, the recommended number.

    `first_tasters` is what the standards' tables print, `holding_tasters` the number from which
    power never falls below its target again. `max_correct` is None unless the aim is similarity.
    """

    first_tasters: int
    holding_tasters: int
    tasters: int
    critical_number: int
    power: float
    max_correct: int | None


@dataclass(frozen=True)
class PowerCurve(Plain):
    """Exact power at each number of tasters: a saw-tooth. A critical number None: out of reach."""

    tasters: tuple[int, ...]
    critical_numbers: tuple[int | None, ...]
    power: tuple[float, ...]


@dataclass(frozen=True)
class Tally(Plain):
    """Everything that is said of one count: test, proportion, discriminators, d-prime.

    With a similarity limit `p_value`, `critical_number` (there the largest number of correct
    answers that shows similarity) and `significant` are those of the similarity test.
    """

    correct: int
    tasters: int
    p_value: float
    critical_number: int | None
    significant: bool
    proportion_correct: float
    interval: Interval
    discriminators: float
    discriminators_interval: Interval
    d_prime: float | None
    d_prime_interval: DPrimeInterval
    confidence: float


@dataclass(frozen=True)
class TwoByTwo(Plain):
    """Two groups compared: first minus second share, its interval, Boschloo's exact p-value."""

    difference: float
    interval: Interval
    p_value: float


@dataclass(frozen=True)
class Evenness(Plain):
    """Do several groups have one share? `exact`: every table was tried, no approximation."""

    p_value: float
    exact: bool


@dataclass(frozen=True)
class Overdispersion(Plain):
    """Do groups differ more than one share allows? `z` is None where it has no spread."""

    z: float | None
    p_value: float
    exact: bool


@dataclass(frozen=True)
class BetaBinomial(Plain):
    """Mean share truly told apart, spread between tasters (0 none, 1 each tells always or never),
    and the log-likelihood there, with all binomial coefficients."""

    mean: float
    spread: float
    log_likelihood: float


@dataclass(frozen=True)
class Equivalence(Plain):
    """Two one-sided exact tests that two shares lie within a margin of each other: the larger of
    their p-values, and whether both pass."""

    margin: float
    p_value: float
    alike: bool


@dataclass(frozen=True)
class HandTallyRow(Plain):
    """One line of the table on the sealed key: with so many ballots, so many correct decide.

    `critical_number` is the smallest count that shows a difference or, in a table for similarity,
    the largest that shows similarity; None where no count does.
    """

    tasters: int
    critical_number: int | None


@dataclass(frozen=True)
class Stopping(Plain):
    """The probability of having stopped by ballot 1, 2, …: it never falls."""

    by_ballot: tuple[float, ...]

    def by(self, probability: float) -> int | None:
        """The ballot by which so many of such evenings have stopped, None where it is later."""
        reached = (n for n, share in enumerate(self.by_ballot, start=1) if share >= probability)
        return next(reached, None)


@dataclass(frozen=True)
class WaldLines(Plain):
    """Right answers after n ballots: at or above high + slope n a difference, at or below
    low + slope n none, between them go on."""

    slope: float
    low: float
    high: float

    def after(self, correct: int, n: int) -> bool | None:
        """True: a difference; False: none of that size; None: go on."""
        if correct >= self.high + self.slope * n:
            return True
        return False if correct <= self.low + self.slope * n else None


@dataclass(frozen=True)
class Sequential(Plain):
    """The probabilities of either end, and the expected number of ballots up to it."""

    different: float
    alike: float
    ballots: float
