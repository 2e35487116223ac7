"""Are groups alike: Freeman–Halton and Tarone against other libraries, brute force and books."""

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from panel.core.errors import PanelError
from panel.core.statistics import evenness, freeman_halton, overdispersed
from tests.core.statistics.oracle import approx, reference

Counts = list[tuple[int, int]]


@st.composite
def groups(draw: st.DrawFn) -> Counts:
    sizes = draw(st.lists(st.integers(1, 6), min_size=2, max_size=4))
    return [(draw(st.integers(0, n)), n) for n in sizes]


def ways(cells: tuple[int, ...], counts: Counts) -> int:
    return math.prod(math.comb(n, x) for x, (_, n) in zip(cells, counts, strict=True))


def all_tables(counts: Counts) -> list[tuple[int, ...]]:
    total = sum(x for x, _ in counts)
    return [t for t in product(*(range(n + 1) for _, n in counts)) if sum(t) == total]


@pytest.mark.parametrize("row", reference("evenness"), ids=lambda row: row["p_value"])
def test_two_groups_of_the_books(row):
    counts = [(int(row[f"correct_{k}"]), int(row[f"n_{k}"])) for k in (1, 2)]
    assert freeman_halton(counts).p_value == approx(row["p_value"], float(row["tolerance"]))


@given(st.integers(1, 40), st.integers(1, 40), st.data())
def test_two_groups_by_scipy(n, m, data):
    x, y = data.draw(st.integers(0, n)), data.draw(st.integers(0, m))
    known = stats.fisher_exact([[x, y], [n - x, m - y]]).pvalue
    assert freeman_halton([(x, n), (y, m)]).p_value == pytest.approx(known, rel=1e-9)


@given(groups())
@settings(deadline=None)
def test_more_groups_by_trying_every_table(counts):
    own = ways(tuple(x for x, _ in counts), counts)
    known = all_tables(counts)
    rare = sum(w for w in (ways(t, counts) for t in known) if w <= own)
    tried = freeman_halton(counts)
    assert tried.exact
    assert tried.p_value == pytest.approx(rare / sum(ways(t, counts) for t in known))


@given(groups())
@settings(deadline=None)
def test_tarone_by_trying_every_table(counts):
    known = overdispersed(counts)
    right, trays = (sum(column) for column in zip(*counts, strict=True))
    if known.z is None:
        assert right in (0, trays) or all(n == 1 for _, n in counts)
        return
    p = right / trays

    def z(cells: tuple[int, ...]) -> float:
        s = sum((x - n * p) ** 2 for x, (_, n) in zip(cells, counts, strict=True)) / (p * (1 - p))
        return (s - trays) / math.sqrt(2 * sum(n * (n - 1) for _, n in counts))

    own = z(tuple(x for x, _ in counts))
    far = [t for t in all_tables(counts) if z(t) >= own - 1e-9]
    assert known.z == pytest.approx(own)
    whole = sum(ways(t, counts) for t in all_tables(counts))
    assert known.p_value == pytest.approx(sum(ways(t, counts) for t in far) / whole)


@pytest.mark.parametrize("group", ["control", "treated"])
def test_tarone_of_the_litters(group):
    counts = litters(group)
    (row,) = [r for r in reference("overdispersion") if (r["group"], r["quantity"]) == (group, "z")]
    assert overdispersed(counts).z == approx(row["expected"], float(row["tolerance"]))


def litters(group: str) -> Counts:
    return [(int(r["alive"]), int(r["born"])) for r in reference("litters") if r["group"] == group]


def test_where_too_many_tables_are_possible_it_says_so_and_comes_near():
    large = [(200 + 7 * k, 600) for k in range(8)]
    known = freeman_halton(large)
    table = [[x for x, _ in large], [n - x for x, n in large]]
    assert not known.exact
    assert known.p_value == pytest.approx(stats.chi2_contingency(table, correction=False).pvalue)
    assert not overdispersed(large).exact


def test_order_of_groups_does_not_matter_and_bad_input_is_refused():
    counts = [(3, 12), (9, 11), (4, 9)]
    assert freeman_halton(counts) == freeman_halton(counts[::-1])
    assert overdispersed(counts) == overdispersed(counts[::-1])
    with pytest.raises(ValueError, match="two groups"):
        freeman_halton([(1, 2)])
    with pytest.raises(PanelError):
        overdispersed([(3, 2), (1, 2)])


def test_what_would_take_too_long_is_not_begun():
    """A festival: the second step alone is past the limit, so only the first is done."""
    asked: list[int] = []

    def step(so_far: int, x: int, _n: int, ways: int) -> int:
        asked.append(ways)
        return so_far + x

    large = [(667, 2000), (690, 2000), (300, 949)]
    assert evenness._walk(large, step, 0, weighted=True) is None
    assert asked == [math.comb(2000, x) for x in range(1658)]
