"""d-prime: simulated tasters, tables, quadrature by another library, and the way back."""

import itertools
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, special, stats

from panel.core.errors import PanelError
from panel.core.statistics import CHANCE, d_prime_from_pc, dprime, pc_at_d_prime, proportion_correct
from panel.core.statistics.dprime import _inverse
from tests.core.statistics.oracle import approx, reference

LINKS = sorted(CHANCE)
DRAWS = 200_000


def perceived(d: float, seed: int, weaker: int, stronger: int) -> tuple[np.ndarray, np.ndarray]:
    """What simulated tasters perceive in cups of the weaker and of the stronger drink."""
    rng = np.random.default_rng(seed)
    return rng.normal(0, 1, (DRAWS, weaker)), rng.normal(d, 1, (DRAWS, stronger))


def triangle(d, seed):
    """Odd is the cup outside the closest pair; the two cups of one drink are the right pair."""
    a, b = perceived(d, seed, 2, 1)
    same = np.abs(a[:, 0] - a[:, 1])
    return (same < np.abs(a[:, 0] - b[:, 0])) & (same < np.abs(a[:, 1] - b[:, 0]))


def duo_trio(d, seed):
    """Chosen is the cup closer to the reference, which is of the weaker drink here."""
    a, b = perceived(d, seed, 2, 1)
    return np.abs(a[:, 0] - a[:, 1]) < np.abs(a[:, 0] - b[:, 0])


def two_afc(d, seed):
    a, b = perceived(d, seed, 1, 1)
    return b[:, 0] > a[:, 0]


def three_afc(d, seed):
    a, b = perceived(d, seed, 2, 1)
    return b[:, 0] > a.max(axis=1)


def tetrad(d, seed):
    """The two lowest and the two highest are the groups; which group is which is not asked."""
    a, b = perceived(d, seed, 2, 2)
    return (a.max(axis=1) < b.min(axis=1)) | (b.max(axis=1) < a.min(axis=1))


def tetrad_specified(d, seed):
    a, b = perceived(d, seed, 2, 2)
    return a.max(axis=1) < b.min(axis=1)


def two_out_of_five(d, seed):
    """Of all ten groupings into two and three, the one whose spans add up to least."""
    a, b = perceived(d, seed, 3, 2)
    cups = np.hstack((a, b))
    spans = []
    for pair in itertools.combinations(range(5), 2):
        rest = [cup for cup in range(5) if cup not in pair]
        spans.append(np.ptp(cups[:, pair], axis=1) + np.ptp(cups[:, rest], axis=1))
    return np.argmin(spans, axis=0) == len(spans) - 1  # the last pair is cups 4 and 5: both of b


RULES = {
    "triangle": triangle,
    "duo-trio": duo_trio,
    "2-afc": two_afc,
    "3-afc": three_afc,
    "tetrad": tetrad,
    "tetrad-specified": tetrad_specified,
    "two-out-of-five": two_out_of_five,
}


@pytest.mark.parametrize("link", LINKS)
@pytest.mark.parametrize("d", [0.0, 0.5, 1.0, 2.0, 3.0])
def test_simulated_tasters(link, d):
    """200,000 tasters follow the rule of the test; four standard errors."""
    found = RULES[link](d, seed=int(10 * d) + 1).mean()
    expected = proportion_correct(link, d)
    error = (expected * (1 - expected) / DRAWS) ** 0.5
    assert found == approx(expected, 4 * error)


@pytest.mark.parametrize(
    "row", reference("proportions"), ids=lambda r: f"{r['link']}-{r['d_prime']}"
)
def test_printed_proportions(row):
    found = proportion_correct(row["link"], float(row["d_prime"]))
    assert found == approx(row["pc"], float(row["tolerance"])), row["source"]


@pytest.mark.parametrize(
    "row", reference("d_prime_variance"), ids=lambda r: f"{r['link']}-{r['pc']}"
)
def test_d_prime_and_its_variance(row):
    """d-prime to four decimals, and B = pc (1 - pc) / slope^2 of the same curve."""
    d = d_prime_from_pc(row["link"], Fraction(row["pc"]))
    assert d == approx(row["d_prime"], 5.1e-5)
    step = 1e-4
    slope = proportion_correct(row["link"], d + step) - proportion_correct(row["link"], d - step)
    slope /= 2 * step
    pc = float(row["pc"])
    assert pc * (1 - pc) / slope**2 == pytest.approx(float(row["b"]), rel=2e-4)


@pytest.mark.parametrize("d", [0.0, 0.3, 1.0, 2.5, 4.0, 6.0, 9.0])
def test_integrals_by_adaptive_quadrature(d):
    """The integrals as the papers write them, over the whole line, by scipy.integrate.quad."""
    cdf, pdf = stats.norm.cdf, stats.norm.pdf

    def whole(integrand):
        parts = (-12, -4, 0, d / 2, d, d + 4, d + 12)
        edges = sorted({min(max(edge, -12), d + 12) for edge in parts})
        return sum(
            integrate.quad(integrand, low, high, epsabs=1e-14)[0]
            for low, high in itertools.pairwise(edges)
        )

    three = whole(lambda z: cdf(z) ** 2 * pdf(z - d))
    tetrads = 1 - 2 * whole(lambda z: pdf(z) * (2 * cdf(z) * cdf(z - d) - cdf(z - d) ** 2))
    named = 2 * whole(lambda z: pdf(z) * cdf(z) * (1 - cdf(z - d)) ** 2)
    odd = 2 * integrate.quad(
        lambda z: (
            (cdf(-z * 3**0.5 + d * (2 / 3) ** 0.5) + cdf(-z * 3**0.5 - d * (2 / 3) ** 0.5)) * pdf(z)
        ),
        0, 12, epsabs=1e-14, points=[d / 2 + 0.1],
    )[0]  # fmt: skip
    assert proportion_correct("3-afc", d) == approx(three, 1e-11)
    assert proportion_correct("tetrad", d) == approx(tetrads, 1e-11)
    assert proportion_correct("tetrad-specified", d) == approx(named, 1e-11)
    assert proportion_correct("triangle", d) == approx(odd, 1e-11)


@pytest.mark.parametrize("d", [0.0, 0.5, 1.0, 2.5, 6.0])
def test_the_two_out_of_five_by_adaptive_quadrature(d):
    """The double integral by scipy.integrate.dblquad, over the density of three ordered cups."""
    cdf, pdf = special.ndtr, lambda z: np.exp(-z * z / 2) / np.sqrt(2 * np.pi)

    def above(shift):
        def density(high, middle):
            return 6 * cdf(middle) * pdf(middle) * pdf(high) * cdf(shift - 2 * high + middle) ** 2

        return integrate.dblquad(density, -8, 8, lambda u: u, 9, epsabs=1e-10)[0]

    found = proportion_correct("two-out-of-five", d)
    assert found == approx(above(d) + above(-d), 1e-8)


@pytest.mark.parametrize("link", LINKS)
def test_chance_at_zero_and_rising_to_one(link):
    values = [proportion_correct(link, d) for d in np.linspace(0, 12, 121)]
    assert values[0] == approx(CHANCE[link], 1e-14)
    assert all(later > earlier - 1e-14 for earlier, later in itertools.pairwise(values))
    assert all(later > earlier for earlier, later in itertools.pairwise(values[:60]))
    assert proportion_correct(link, 60.0) == approx(1, 1e-15)


@pytest.mark.parametrize("link", LINKS)
@given(st.floats(0.05, 7.0))
def test_there_and_back(link, d):
    """The curve flattens at both ends, so the way back is judged by the proportion it gives."""
    pc = proportion_correct(link, d)
    back = d_prime_from_pc(link, pc)
    assert back is not None
    assert proportion_correct(link, back) == approx(pc, 1e-14)
    if 0.3 < d < 4:
        assert back == approx(d, 1e-9)


@pytest.mark.parametrize("link", LINKS)
def test_ends(link):
    assert d_prime_from_pc(link, 1) is None
    assert d_prime_from_pc(link, CHANCE[link]) == 0.0
    assert d_prime_from_pc(link, float(CHANCE[link]) / 2) == 0.0
    assert d_prime_from_pc(link, 0) == 0.0
    nearly = d_prime_from_pc(link, 1 - 1e-7)
    assert nearly is not None
    assert 7 < nearly < 14


def test_a_proportion_that_the_curve_never_reaches_has_no_bound():
    """So may 1 − 1e−16 be in floating point."""
    assert _inverse(lambda d: 1 - 1e-9 if d > 1 else 0.5, 1 - 1e-10) is None


@pytest.mark.parametrize("pc", [0.1001, 0.1234567, 1 / 3, 15 / 36, 0.6, 0.97, 0.9999])
def test_a_stand_in_saves_work_and_changes_no_digit(pc):
    """A published d-prime has to come out the same to the last digit, whatever finds it faster."""
    asked = []

    def rising(d):
        asked.append(d)
        return dprime._two_out_of_five(d)

    plain = dprime._inverse(rising, pc)
    by_halving = len(asked)
    asked.clear()
    assert dprime._inverse(rising, pc, dprime._two_out_of_five_roughly) == plain
    assert len(asked) < 2 * by_halving / 3


def test_the_stand_in_is_as_near_as_it_says():
    for d in (0.0, 0.01, 0.3, 1.0, 2.5, 6.0, 20.0):
        off = dprime._two_out_of_five_roughly(d) - dprime._two_out_of_five(d)
        assert abs(off) < dprime._ROUGHNESS / 5


def test_signed():
    """F(d / √2): the other drink gives the same distance with the other sign."""
    for pc in (0.1, 0.3, 0.5, 0.76):
        d = d_prime_from_pc("2-afc", pc, signed=True)
        assert d == approx(2**0.5 * stats.norm.ppf(pc), 1e-12)
        assert d_prime_from_pc("2-afc", 1 - pc, signed=True) == approx(-d, 1e-12)
    assert d_prime_from_pc("2-afc", 0, signed=True) is None
    assert d_prime_from_pc("2-afc", 1, signed=True) is None
    with pytest.raises(ValueError, match="sign"):
        d_prime_from_pc("triangle", 0.5, signed=True)


def test_to_plan_with():
    assert float(pc_at_d_prime("triangle", Decimal(1))) == approx(0.418047, 5e-7)
    assert pc_at_d_prime("triangle", Decimal("0.000000001")) >= Fraction(1, 3)


@pytest.mark.parametrize("d", ["0", "-1", "20.1", "NaN", "Infinity", "1e-999999"])
def test_a_d_prime_that_cannot_be_planned(d):
    with pytest.raises(PanelError) as refusal:
        pc_at_d_prime("triangle", Decimal(d))
    assert (refusal.value.code, refusal.value.field) == ("d-prime-range", "d_prime")


def test_an_unknown_link():
    with pytest.raises(ValueError, match="link"):
        proportion_correct("pentad", 1.0)
