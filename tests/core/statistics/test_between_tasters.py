"""The beta-binomial with chance taken out: Williams' litters, sums, and tasters made up."""

from fractions import Fraction

import numpy as np
import pytest
from scipy import integrate, stats

from panel.core.statistics import fit_beta_binomial
from panel.core.statistics.between_tasters import log_probability
from tests.core.statistics.oracle import THIRD, approx, reference
from tests.core.statistics.test_evenness import litters


@pytest.mark.parametrize(
    "row",
    [row for row in reference("overdispersion") if row["quantity"] != "z"],
    ids=lambda row: f"{row['group']} {row['quantity']}",
)
def test_the_litters(row):
    known = fit_beta_binomial(litters(row["group"]), Fraction(0))
    assert getattr(known, row["quantity"]) == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize("chance", [0.0, 1 / 3, 1 / 2])
def test_probabilities_are_the_integral_and_add_up_to_one(chance):
    a, b, n = 1.3, 2.1, 7
    mean, spread = np.array(a / (a + b)), np.array(1 / (a + b + 1))
    got = [float(np.exp(log_probability(x, n, chance, mean, spread))) for x in range(n + 1)]

    def of(x: int) -> float:
        def part(t: float) -> float:
            return float(stats.binom.pmf(x, n, chance + (1 - chance) * t) * stats.beta.pdf(t, a, b))

        return float(integrate.quad(part, 0, 1)[0])

    assert sum(got) == pytest.approx(1)
    assert got == pytest.approx([of(x) for x in range(n + 1)], rel=1e-6)


def test_it_finds_the_mean_and_the_spread_of_made_up_tasters():
    """2000 invented tasters, 12 trays each: half always tell, half guess (mean 1/2, spread 1)."""
    rng = np.random.default_rng(20260314)
    share = np.repeat([1 / 3, 1.0], 1000)
    counts = [(int(x), 12) for x in rng.binomial(12, share)]
    known = fit_beta_binomial(counts, THIRD)
    assert known.mean == pytest.approx(0.5, abs=0.03)
    assert known.spread > 0.9
    alike = [(int(x), 12) for x in rng.binomial(12, np.full(2000, 0.6))]
    known = fit_beta_binomial(alike, THIRD)
    assert known.mean == pytest.approx(0.4, abs=0.03)  # (0.6 − 1/3)/(2/3)
    assert known.spread < 0.03


def test_everybody_and_nobody_right():
    assert fit_beta_binomial([(5, 5), (4, 4)], THIRD).mean > 0.99
    assert fit_beta_binomial([(0, 5), (0, 4)], THIRD).mean < 0.01
