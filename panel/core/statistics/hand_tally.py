"""The table on the sealed key, with which an evening can end without a computer."""

from fractions import Fraction

from panel.core.statistics.binomial import critical_number, max_correct
from panel.core.statistics.inputs import Exact
from panel.core.statistics.results import HandTallyRow, SimilarityLimit

FEWEST, MOST = 3, 60


def hand_tally_rows(
    chance: Fraction, alpha: Exact, sides: int = 1, low: int = FEWEST, high: int = MOST
) -> tuple[HandTallyRow, ...]:
    """Smallest count that reaches alpha for each number of ballots low..high, both included."""
    return tuple(
        HandTallyRow(n, critical_number(n, chance, alpha, sides)) for n in range(low, high + 1)
    )


def hand_similarity_rows(
    limit: SimilarityLimit, low: int = FEWEST, high: int = MOST
) -> tuple[HandTallyRow, ...]:
    """Largest count that still shows similarity for each number of ballots low..high."""
    return tuple(
        HandTallyRow(n, max_correct(n, limit.pc, limit.beta)) for n in range(low, high + 1)
    )
