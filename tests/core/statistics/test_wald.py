"""Wald's sequential test: printed lines, a printed example, and risks by another recursion."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from panel.core.statistics import WaldLines, followed, wald_lines
from tests.core.statistics.oracle import HALF, THIRD, approx, reference

ENDS = {"different": True, "alike": False, "undecided": None}


def lines_of(row: dict[str, str]) -> WaldLines:
    return wald_lines(
        Fraction(row["p0"]), Fraction(row["p1"]), Decimal(row["alpha"]), Decimal(row["beta"])
    )


@pytest.mark.parametrize(
    "row", reference("wald"), ids=lambda r: f"{r['p0']} {r['p1']} {r['quantity']}"
)
def test_lines_and_what_they_lead_to(row):
    lines = lines_of(row)
    guessing = followed(lines, Fraction(row["p0"]))
    found = {
        "low": lines.low,
        "high": lines.high,
        "slope": lines.slope,
        "alarm": guessing.different,
        "missed": followed(lines, Fraction(row["p1"])).alike,
        "ballots": guessing.ballots,
    }
    assert found[row["quantity"]] == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize("row", reference("sequences"), ids=lambda r: r["case"])
def test_the_example_of_the_standard(row):
    lines = wald_lines(HALF, Fraction(7, 10), Decimal("0.1"), Decimal("0.1"))
    counts = [int(count) for count in row["right_so_far"].split()]
    ends = [lines.after(count, n) for n, count in enumerate(counts, start=1)]
    assert ends[-1] is ENDS[row["ends"]]
    assert all(end is None for end in ends[:-1])


@pytest.mark.parametrize(("alpha", "beta"), [("0.05", "0.2"), ("0.01", "0.05"), ("0.1", "0.1")])
def test_risks_keep_walds_bounds_and_everything_ends(alpha, beta):
    a, b = float(alpha), float(beta)
    lines = wald_lines(THIRD, Fraction(8, 15), Decimal(alpha), Decimal(beta))
    guessing, telling = followed(lines, THIRD), followed(lines, Fraction(8, 15))
    assert guessing.different <= a / (1 - b)
    assert telling.alike <= b / (1 - a)
    assert guessing.different + guessing.alike == pytest.approx(1, abs=1e-9)


def test_by_simulated_evenings():
    lines = wald_lines(THIRD, Fraction(8, 15), Decimal("0.05"), Decimal("0.2"))
    rng = np.random.default_rng(3)
    ends = []
    for _ in range(4000):
        right = n = 0
        while lines.after(right, n) is None:
            right, n = right + int(rng.random() < 0.5), n + 1
        ends.append((lines.after(right, n), n))
    known = followed(lines, HALF)
    assert np.mean([end for end, _ in ends]) == pytest.approx(known.different, abs=0.025)
    assert np.mean([n for _, n in ends]) == pytest.approx(known.ballots, rel=0.05)


def test_what_cannot_be_asked():
    with pytest.raises(ValueError, match="no lines"):
        wald_lines(THIRD, Fraction(1), Decimal("0.05"), Decimal("0.2"))
    with pytest.raises(ValueError, match="no lines"):
        wald_lines(THIRD, HALF, Decimal("0.5"), Decimal("0.5"))
    with pytest.raises(ValueError, match="ballots"):
        followed(wald_lines(THIRD, HALF, Decimal("0.05"), Decimal("0.2")), HALF, 0)
