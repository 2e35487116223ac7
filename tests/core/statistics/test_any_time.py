"""Evidence that may be watched: the martingale in fractions, and risks by recursion."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from panel.core.errors import PanelError
from panel.core.statistics import (
    critical_number,
    deciding_counts,
    e_value,
    looked_at,
    pc_at_pd,
    stopping,
)
from tests.core.statistics.oracle import HALF, SIXTH, THIRD, approx, reference

ROWS = reference("any_time")
ALPHA = Decimal("0.05")


def rows(*quantities: str) -> list[dict[str, str]]:
    return [row for row in ROWS if row["quantity"] in quantities]


@pytest.mark.parametrize("row", rows("e"), ids=lambda r: f"{r['chance']} {r['n']} {r['correct']}")
def test_e_values(row):
    known = e_value(int(row["correct"]), int(row["n"]), Fraction(row["chance"]))
    assert float(known) == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize("chance", [HALF, THIRD, SIXTH])
def test_under_guessing_it_is_a_martingale_exactly(chance):
    assert e_value(0, 0, chance) == 1
    for n in range(25):
        for s in range(n + 1):
            after = chance * e_value(s + 1, n + 1, chance)
            after += (1 - chance) * e_value(s, n + 1, chance)
            assert after == e_value(s, n, chance)


@pytest.mark.parametrize("row", rows("ever"), ids=lambda r: f"{r['chance']} {r['n']} {r['alpha']}")
def test_the_risk_of_ever_stopping_under_guessing(row):
    chance, n = Fraction(row["chance"]), int(row["n"])
    known = stopping(chance, Decimal(row["alpha"]), chance, n).by_ballot[-1]
    assert known == approx(row["expected"], float(row["tolerance"]))
    assert known <= float(row["alpha"])


@pytest.mark.parametrize("row", rows("naive"), ids=lambda r: f"{r['chance']} {r['n']}")
def test_what_looking_often_does_to_a_rule_made_for_one_look(row):
    chance, n = Fraction(row["chance"]), int(row["n"])
    critical = tuple(critical_number(k, chance, ALPHA) for k in range(1, n + 1))
    known = looked_at(critical, float(chance))[-1]
    assert known == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize(
    "row", rows("half", "four fifths"), ids=lambda r: f"{r['chance']} {r['pd']} {r['quantity']}"
)
def test_ballots_until_it_stops(row):
    chance, share = Fraction(row["chance"]), {"half": 0.5, "four fifths": 0.8}[row["quantity"]]
    known = stopping(chance, ALPHA, pc_at_pd(chance, Decimal(row["pd"])), int(row["n"]))
    assert known.by(share) == int(row["expected"])


def test_each_deciding_count_is_the_smallest():
    counts = deciding_counts(THIRD, Fraction(1, 20), 60)
    for n, count in enumerate(counts, start=1):
        reaching = [s for s in range(n + 1) if e_value(s, n, THIRD) >= 20]
        assert count == (reaching[0] if reaching else None)


def test_by_simulated_evenings():
    rng = np.random.default_rng(7)
    right = (rng.random((20_000, 60)) < 0.6).cumsum(axis=1)
    marks = [999 if mark is None else mark for mark in deciding_counts(THIRD, Fraction(1, 20), 60)]
    seen = (right >= np.array(marks)).any(axis=1).mean()
    known = stopping(THIRD, ALPHA, Fraction(3, 5), 60).by_ballot[-1]
    assert seen == pytest.approx(known, abs=0.01)


def test_what_cannot_be_asked():
    assert stopping(THIRD, ALPHA, HALF, 10).by(0.99) is None
    with pytest.raises(PanelError):
        e_value(3, 2, THIRD)
    with pytest.raises(ValueError, match="ballots"):
        stopping(THIRD, ALPHA, HALF, 1001)
