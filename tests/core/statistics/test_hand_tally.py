"""The table that ends an evening without a computer."""

from decimal import Decimal
from fractions import Fraction

import pytest

from panel.core.statistics import (
    SimilarityLimit,
    hand_similarity_rows,
    hand_tally_rows,
    max_correct,
    pc_at_pd,
)
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, critical


@pytest.mark.parametrize(("chance", "sides"), [(THIRD, 1), (HALF, 1), (HALF, 2), (SIXTH, 1)])
@pytest.mark.parametrize("alpha", ["0.05", "0.01"])
def test_three_to_sixty_ballots(chance, sides, alpha):
    rows = hand_tally_rows(chance, Decimal(alpha), sides)
    assert [row.tasters for row in rows] == list(range(3, 61))
    for row in rows:
        assert row.critical_number == critical(row.tasters, chance, Fraction(alpha), sides)


def test_another_range():
    assert [row.tasters for row in hand_tally_rows(THIRD, Decimal("0.05"), low=10, high=12)] == [
        10, 11, 12,
    ]  # fmt: skip


def test_similarity():
    limit = SimilarityLimit(pc_at_pd(THIRD, Decimal("0.5")), Decimal("0.05"))
    rows = hand_similarity_rows(limit)
    assert [row.tasters for row in rows] == list(range(3, 61))
    assert all(
        row.critical_number == max_correct(row.tasters, limit.pc, limit.beta) for row in rows
    )
    assert rows[-1].critical_number == 33  # P(X <= 33 | 60, 2/3) = .0396, P(X <= 34) = .0680
