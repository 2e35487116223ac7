"""Tests of ranks against tables, scipy, and every arrangement written out in fractions."""

from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import combinations, permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from panel.core.allocation.incomplete_blocks import block_design
from panel.core.statistics import rank_pairs, rank_test, trend_test
from panel.core.statistics.friedman import MOST_STEPS, _all_distances
from panel.core.statistics.rank_sums import range_quantile, range_tail
from tests.core.statistics.oracle import approx, reference

ALPHA = Decimal("0.05")
Block = dict[str, int]
MANY_STEPS = 60_000_000


def no_ties(drinks: int, tasters: int) -> tuple[tuple[int, ...], ...]:
    return (tuple(range(2, 2 * drinks + 1, 2)),) * tasters


@cache
def distances(drinks: int, tasters: int) -> list[tuple[float, float]]:
    """Friedman's statistic and its exact upper tail, every attainable value, falling."""
    known = _all_distances(no_ties(drinks, tasters), MANY_STEPS)
    assert known is not None
    far, chances = known
    scale = 12 / (tasters * drinks * (drinks + 1)) / 4
    return list(zip(far[::-1] * scale, np.cumsum(chances[::-1]), strict=True))


def critical(drinks: int, tasters: int, alpha: float) -> float | None:
    reached = [value for value, tail in distances(drinks, tasters) if tail <= alpha]
    return min(reached, default=None)


@pytest.mark.parametrize(
    "row", reference("friedman"), ids=lambda r: f"{r['drinks']}x{r['tasters']}"
)
def test_critical_values_of_friedman(row):
    found = critical(int(row["drinks"]), int(row["tasters"]), float(row["alpha"]))
    if row["statistic"]:
        assert found == approx(row["statistic"], float(row["tolerance"]))
    else:
        assert found is None


def test_a_misprint_of_the_friedman_sheet():
    """5 drinks, 8 tasters, 1 %: printed 13.200, exact 12.300; the value below has tail 0.0104."""
    assert critical(5, 8, 0.01) == pytest.approx(12.3)
    below = max(value for value, tail in distances(5, 8) if tail > 0.01)
    assert below == pytest.approx(12.2)


def one_tray_page(drinks: int) -> dict[int, int]:
    ways: dict[int, int] = {}
    for order in permutations(range(1, drinks + 1)):
        total = sum(place * rank for place, rank in enumerate(order, start=1))
        ways[total] = ways.get(total, 0) + 1
    return ways


@cache
def page_ways(drinks: int, tasters: int) -> dict[int, int]:
    """Page's L to its number of arrangements, tray by tray."""
    if tasters == 0:
        return {0: 1}
    ways: dict[int, int] = {}
    one = one_tray_page(drinks)
    for so_far, times in page_ways(drinks, tasters - 1).items():
        for total, more in one.items():
            ways[so_far + total] = ways.get(so_far + total, 0) + times * more
    return ways


def page_tail(drinks: int, tasters: int, at_least: int) -> Fraction:
    ways = page_ways(drinks, tasters)
    far = sum(times for total, times in ways.items() if total >= at_least)
    return Fraction(far, sum(ways.values()))


def page_critical(drinks: int, tasters: int, alpha: str) -> int:
    bound, value = Fraction(alpha), max(page_ways(drinks, tasters))
    while page_tail(drinks, tasters, value - 1) <= bound:
        value -= 1
    return value


@pytest.mark.parametrize(
    "row", reference("page_trend"), ids=lambda r: f"{r['drinks']}x{r['tasters']}"
)
def test_critical_values_of_page(row):
    exact = page_critical(int(row["drinks"]), int(row["tasters"]), row["alpha"])
    assert exact == int(row["critical"])


# Weak memories of the table, or cells that were rounded or taken from the normal curve.
@pytest.mark.parametrize(
    ("drinks", "tasters", "alpha", "remembered", "exact"),
    [
        (6, 8, "0.001", 655, 656),
        (7, 10, "0.05", 1180, 1181),
        (7, 8, "0.001", 994, 995),
        (8, 10, "0.05", 1703, 1704),
        (8, 11, "0.05", 1868, 1870),
        (8, 12, "0.05", 2035, 2036),
        (8, 2, "0.01", 376, 375),
        (8, 3, "0.01", 549, 550),
        (8, 10, "0.01", 1736, 1737),
        (8, 10, "0.001", 1773, 1774),
        (8, 12, "0.001", 2112, 2113),
        (3, 5, "0.05", 54, 66),  # an encyclopaedia's misprint
    ],
)
def test_cells_that_exact_computation_contradicts(drinks, tasters, alpha, remembered, exact):
    assert page_critical(drinks, tasters, alpha) == exact != remembered


def ranked_so(drinks: int, tasters: int, total: int) -> list[Block]:
    """Trays without ties whose Page's L is `total`: begun in the named order, then worsened."""
    letters = "ABCDEFGH"[:drinks]
    ladder = sorted(one_tray_page(drinks))
    orders = {sum(p * r for p, r in enumerate(o, 1)): o for o in permutations(range(1, drinks + 1))}
    left, blocks = total, []
    for tray in range(tasters, 0, -1):
        rest = (tray - 1) * ladder[-1]
        one = next(value for value in ladder if left - value <= rest)
        blocks.append(dict(zip(letters, orders[one], strict=True)))
        left -= one
    assert left == 0
    return blocks


@pytest.mark.parametrize("row", [r for r in reference("page_trend") if int(r["drinks"]) < 8])
def test_the_trend_test_turns_at_the_critical_value(row):
    drinks, tasters, alpha = int(row["drinks"]), int(row["tasters"]), Decimal(row["alpha"])
    letters, at = "ABCDEFGH"[:drinks], int(row["critical"])
    reached = trend_test(ranked_so(drinks, tasters, at), letters, alpha)
    missed = trend_test(ranked_so(drinks, tasters, at - 1), letters, alpha)
    assert (reached.statistic, reached.exact, reached.significant) == (at, True, True)
    assert reached.p_value == pytest.approx(float(page_tail(drinks, tasters, at)), rel=1e-12)
    assert (missed.statistic, missed.significant) == (at - 1, False)


def numbers(what: str) -> list[dict[str, str]]:
    return [row for row in reference("rank_numbers") if row["what"] == what]


@pytest.mark.parametrize("row", numbers("friedman"))
def test_tails_of_friedman(row):
    drinks, tasters = int(row["drinks"]), int(row["tasters"])
    tail = max(t for value, t in distances(drinks, tasters) if value > float(row["at"]) - 0.001)
    assert tail == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize("row", numbers("page"))
def test_tails_of_page(row):
    drinks, tasters, at = int(row["drinks"]), int(row["tasters"]), int(row["at"])
    found = trend_test(ranked_so(drinks, tasters, at), "ABCDEFGH"[:drinks], ALPHA)
    assert found.p_value == approx(row["expected"], float(row["tolerance"]))


@pytest.mark.parametrize("row", numbers("alone") + numbers("together"))
def test_how_far_apart_rank_sums_must_be(row):
    drinks, tasters = int(row["drinks"]), int(row["tasters"])
    letters = "ABCDEFGH"[:drinks]
    blocks = [dict(zip(letters, range(drinks), strict=True))] * tasters
    pairs = rank_pairs(blocks, Decimal(row["at"]))
    mean = pairs.distance_alone if row["what"] == "alone" else pairs.distance_together
    assert mean * tasters == approx(row["expected"], float(row["tolerance"]))


def test_ice_creams_in_incomplete_blocks():
    """Conover 1999, Practical Nonparametric Statistics, 3rd ed., p. 391 (from memory): seven
    varieties, three a judge, rank sums 8 9 4 3 5 6 7, T = 12.0, chi-square with 6 degrees 0.062."""
    design = [(0, 1, 3), (1, 2, 4), (2, 3, 5), (3, 4, 6), (4, 5, 0), (5, 6, 1), (6, 0, 2)]
    wanted = (8, 9, 4, 3, 5, 6, 7)
    for choice in product(permutations((1, 2, 3)), repeat=len(design)):
        sums = [0] * 7
        for seats, ranks in zip(design, choice, strict=True):
            for seat, rank in zip(seats, ranks, strict=True):
                sums[seat] += rank
        if tuple(sums) == wanted:
            break
    blocks = [
        {"ABCDEFG"[seat]: rank for seat, rank in zip(seats, ranks, strict=True)}
        for seats, ranks in zip(design, choice, strict=True)
    ]
    found = rank_test(blocks, ALPHA, most_steps=0)
    assert found.statistic == pytest.approx(12.0)
    assert (found.freedom, found.exact, found.complete) == (6, False, False)
    assert found.p_value == pytest.approx(0.06197, abs=1e-5)
    assert found.sums == wanted
    counted = rank_test(blocks, ALPHA, most_steps=MANY_STEPS)
    assert counted.exact
    assert counted.p_value < found.p_value  # chi-square errs on the safe side here


BASES = """5.40 5.50 5.55 5.85 5.70 5.75 5.20 5.60 5.50 5.55 5.50 5.40 5.90 5.85 5.70 5.45 5.55
5.60 5.40 5.40 5.35 5.45 5.50 5.35 5.25 5.15 5.00 5.85 5.80 5.70 5.25 5.20 5.10 5.65 5.55 5.45 5.60
5.35 5.45 5.05 5.00 4.95 5.50 5.50 5.40 5.45 5.55 5.50 5.55 5.55 5.35 5.45 5.50 5.55 5.50 5.45 5.25
5.65 5.60 5.40 5.70 5.65 5.55 6.30 6.30 6.25"""


def test_runners_round_first_base():
    """Hollander & Wolfe 1973, pp. 140 ff.: 22 runners, three ways of rounding first base, with ties
    (data and result from memory): 11.14 with 2 degrees of freedom, p = 0.0038."""
    times = [round(float(one) * 100) for one in BASES.split()]
    blocks = [dict(zip("ABC", times[at : at + 3], strict=True)) for at in range(0, 66, 3)]
    found = rank_test(blocks, ALPHA, most_steps=0)
    assert found.statistic == pytest.approx(11.143, abs=5e-4)
    assert found.p_value == pytest.approx(0.003805, abs=5e-7)
    counted = rank_test(blocks, ALPHA, most_steps=10**6)
    assert counted.exact
    assert counted.p_value < found.p_value


def by_formula(blocks: list[Block], drinks: int, together: int, each: int, cups: int) -> float:
    """Durbin's statistic as books print it, for trays without ties."""
    sums = [sum(b.get("ABCDEFGH"[at], 0) for b in blocks) for at in range(drinks)]
    scale = 12 * (drinks - 1) / (each * drinks * (cups - 1) * (cups + 1))
    assert together * (drinks - 1) == each * (cups - 1)
    return scale * sum((total - each * (cups + 1) / 2) ** 2 for total in sums)


@pytest.mark.parametrize(("drinks", "cups"), [(4, 2), (4, 3), (5, 3), (6, 4), (7, 3), (8, 4)])
def test_durbin_as_books_print_it(drinks, cups):
    design = block_design(drinks, cups)
    rng = np.random.default_rng(drinks * 10 + cups)
    blocks = [
        dict(zip(order, rng.permutation(cups) + 1, strict=True))
        for order in design.orders[: design.blocks]
    ]
    found = rank_test(blocks, ALPHA)
    assert found.freedom == drinks - 1
    expected = by_formula(blocks, drinks, design.together, design.each, cups)
    assert found.statistic == pytest.approx(expected)


def brute(blocks: list[Block]) -> Fraction:
    """The share of all arrangements whose statistic is as large, each computed anew."""
    observed = rank_test(blocks, ALPHA, most_steps=0).statistic
    far = every = 0
    for choice in product(*(list(permutations(block.values())) for block in blocks)):
        shuffled = [
            dict(zip(block, values, strict=True))
            for block, values in zip(blocks, choice, strict=True)
        ]
        every += 1
        far += rank_test(shuffled, ALPHA, most_steps=0).statistic >= observed - 1e-9
    return Fraction(far, every)


@pytest.mark.parametrize(
    "rows",
    [
        ["A1 B2 C3", "A1 B3 C2", "A2 B1 C3"],
        ["A1 B1 C3", "A1 B2 C2", "A2 B1 C3"],  # ties
        ["A1 B1 C1", "A1 B2 C3"],  # a tray that is one tie
        ["A1 B2 C3 D4", "A2 B1 C4 D3"],
        ["A1 B2", "B1 C2", "C2 A1", "A1 B2"],  # incomplete and not balanced
        ["A1 B2 C3", "B1 C2 D3", "C1 D3 A2"],
    ],
)
def test_every_arrangement_in_fractions(rows):
    blocks = [{cup[0]: int(cup[1]) for cup in row.split()} for row in rows]
    found = rank_test(blocks, ALPHA)
    assert found.exact
    assert found.p_value == pytest.approx(float(brute(blocks)), rel=1e-9)


def test_nobody_tells_anything():
    blocks = [dict.fromkeys("ABC", 5)] * 4
    found = rank_test(blocks, ALPHA)
    assert (found.statistic, found.p_value, found.significant) == (0.0, 1.0, False)
    assert found.agreement == 0
    assert all(pair.p_together == 1 for pair in rank_pairs(blocks, ALPHA).pairs)
    assert trend_test(blocks, "ABC", ALPHA).p_value == 1


SCORES = st.lists(
    st.lists(st.integers(1, 5), min_size=4, max_size=4), min_size=3, max_size=30
).filter(lambda rows: any(len(set(row)) > 1 for row in rows))


@given(SCORES)
@settings(deadline=None, max_examples=40)
def test_friedman_and_page_by_scipy(rows):
    blocks = [dict(zip("ABCD", row, strict=True)) for row in rows]
    found = rank_test(blocks, ALPHA, most_steps=0)
    known = stats.friedmanchisquare(*zip(*rows, strict=True))
    assert found.statistic == pytest.approx(known.statistic, abs=1e-9)
    assert found.p_value == pytest.approx(known.pvalue, abs=1e-9)
    assert trend_test(blocks, "ABCD", ALPHA).statistic == stats.page_trend_test(rows).statistic


@given(st.integers(3, 6), st.integers(2, 12), st.integers(0, 10**6))
@settings(deadline=None, max_examples=40)
def test_exact_page_by_scipy(drinks, tasters, seed):
    rng = np.random.default_rng(seed)
    rows = [(rng.permutation(drinks) + 1).tolist() for _ in range(tasters)]
    letters = "ABCDEF"[:drinks]
    found = trend_test([dict(zip(letters, row, strict=True)) for row in rows], letters, ALPHA)
    known = stats.page_trend_test(rows, ranked=True, method="exact")
    assert found.exact
    assert found.p_value == pytest.approx(known.pvalue, rel=1e-9)


def test_a_long_list_of_tasters_takes_the_normal_curve_as_scipy_has_it():
    rng = np.random.default_rng(5)
    rows = [(rng.permutation(8) + 1).tolist() for _ in range(200)]
    letters = "ABCDEFGH"
    found = trend_test([dict(zip(letters, row, strict=True)) for row in rows], letters, ALPHA)
    assert not found.exact
    known = stats.page_trend_test(rows, ranked=True, method="asymptotic")
    assert found.p_value == pytest.approx(known.pvalue, rel=1e-9)


def test_the_normal_curve_is_near_where_the_exact_ends():
    exact = float(page_tail(4, 60, 1545))
    blocks = ranked_so(4, 60, 1545)
    assert trend_test(blocks, "ABCD", ALPHA).p_value == pytest.approx(exact, rel=1e-9)
    variance = 60 * 5 * 5 / 3
    normal = stats.norm.sf((1545 - 1500) / variance**0.5)
    assert exact == pytest.approx(normal, abs=0.003)


@given(st.integers(2, 8), st.floats(0.5, 6))
@settings(deadline=None, max_examples=30)
def test_the_range_by_scipy(drinks, q):
    known = stats.studentized_range.sf(q, drinks, np.inf)
    assert range_tail(q, drinks) == pytest.approx(known, abs=1e-7)


def test_quantiles_of_the_range():
    """Studentised range, infinite degrees, 5 %: 3.314, 3.633, 3.858 (tables of Pearson & Hartley
    1966, from memory)."""
    assert [round(range_quantile(0.05, k), 3) for k in (3, 4, 5)] == [3.314, 3.633, 3.858]


@given(SCORES)
@settings(deadline=None, max_examples=30)
def test_pairs_are_antisymmetric_and_no_pair_is_easier_together(rows):
    blocks = [dict(zip("ABCD", row, strict=True)) for row in rows]
    turned = [dict(zip("ABCD", [6 - score for score in row], strict=True)) for row in rows]
    pairs, back = rank_pairs(blocks, ALPHA), rank_pairs(turned, ALPHA)
    assert [(p.first, p.second) for p in pairs.pairs] == list(combinations("ABCD", 2))
    for one, other in zip(pairs.pairs, back.pairs, strict=True):
        assert one.z == pytest.approx(-other.z, abs=1e-9)
        assert one.difference == pytest.approx(-other.difference, abs=1e-9)
        assert one.p_together >= one.p_alone - 1e-9
        assert one.apart_alone == (abs(one.difference) >= pairs.distance_alone - 1e-9)


def test_a_lost_tray_gives_each_pair_its_own_distance():
    blocks = [dict(zip(order, range(3), strict=True)) for order in block_design(7, 3).orders]
    assert rank_pairs(blocks, ALPHA).distance_alone is not None
    lost = rank_pairs(blocks[:-1], ALPHA)
    assert lost.distance_alone is lost.distance_together is None
    assert len(lost.pairs) == 21


def test_a_tail_that_equals_alpha_reaches_it():
    """Five drinks, two tasters of one mind: 1 arrangement of 120, to the letter."""
    blocks = [dict(zip("ABCDE", range(5), strict=True))] * 2
    at = rank_test(blocks, Fraction(1, 120))
    assert at.significant
    assert not rank_test(blocks, Fraction(1, 120) - Fraction(1, 10**15)).significant
    assert trend_test(blocks, "ABCDE", Fraction(1, 14400)).significant
    assert not trend_test(blocks, "ABCDE", Fraction(1, 14401)).significant


def test_the_sizes_that_are_counted_as_stated():
    for drinks, tasters in ((3, 57), (4, 14), (5, 5), (6, 3), (7, 2), (8, 2)):
        assert _all_distances(no_ties(drinks, tasters), MOST_STEPS) is not None
        assert _all_distances(no_ties(drinks, tasters + 1), MOST_STEPS) is None


@pytest.mark.parametrize(("drinks", "tasters"), [(3, 58), (4, 15), (5, 6)])
def test_chi_square_is_close_where_it_takes_over(drinks, tasters):
    """At 5 % and 1 %, at the first size that is no longer counted: never 0.0002 above."""
    for alpha in (0.05, 0.01):
        limit = stats.chi2.isf(alpha, drinks - 1)
        tail = max(t for value, t in distances(drinks, tasters) if value >= limit)
        assert tail <= alpha + 0.0002


def test_what_cannot_be_ranked():
    with pytest.raises(ValueError, match="at least one tray"):
        rank_test([], ALPHA)
    with pytest.raises(ValueError, match="two drinks"):
        rank_pairs([{"A": 1}], ALPHA)
    with pytest.raises(ValueError, match="every drink once"):
        trend_test([{"A": 1, "B": 2}], "ABC", ALPHA)
