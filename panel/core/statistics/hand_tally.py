"""The table on the sealed key, with which an evening can end without a computer."""

from fractions import Fraction

from panel.core.statistics.binomial import critical_number, max_correct
from panel.core.statistics.inputs import Exact, check_alpha
from panel.core.statistics.results import HandTallyRow, SimilarityLimit
from panel.core.statistics.two_rates import deciding_tables

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


def hand_rates_rows(targets: int, others: int, alpha: Exact) -> tuple[HandTallyRow, ...]:
    """Smallest number of hits that reaches alpha for each number of false alarms 0..others.

    `tasters` of a row is the number of false alarms.
    """
    decides = deciding_tables(targets, others, check_alpha(alpha))
    least = (int(column.argmax()) if column.any() else None for column in decides.T)
    return tuple(HandTallyRow(alarms, hits) for alarms, hits in enumerate(least))
