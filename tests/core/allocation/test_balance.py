"""Balance of counted trays: the tables, and when a caution speaks."""

from collections.abc import Iterator
from math import factorial, prod

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2, chisquare

from panel.core.allocation.balance import (
    OrderCount,
    PlaceCount,
    balance_of,
    chi_square_tail,
    evenness,
    unbalanced,
)
from panel.core.allocation.draw import Stream
from panel.core.allocation.orders import deal_orders

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")


@given(st.floats(0, 400), st.integers(1, 119))
def test_the_tail_is_scipys(statistic: float, freedom: int) -> None:
    assert chi_square_tail(statistic, freedom) == pytest.approx(
        chi2.sf(statistic, freedom), rel=1e-9, abs=1e-300
    )


@pytest.mark.parametrize(
    ("freedom", "limit"), [(1, 3.841), (3, 7.815), (5, 11.070), (19, 30.144), (23, 35.172)]
)
def test_the_tail_is_five_percent_at_the_printed_limits(freedom: int, limit: float) -> None:
    """Upper 5 % points as printed in any table of chi-square, for example NIST/SEMATECH
    e-Handbook, 1.3.6.7.4 (from memory)."""
    assert chi_square_tail(limit, freedom) == pytest.approx(0.05, abs=2e-5)


@given(st.lists(st.integers(0, 60), min_size=2, max_size=24).filter(any))
def test_evenness_is_scipys_chi_square_test(counts: list[int]) -> None:
    assert evenness(counts) == pytest.approx(chisquare(counts).pvalue, rel=1e-8, abs=1e-300)


@pytest.mark.parametrize("counts", [(), (7,), (0, 0, 0)])
def test_nothing_can_be_uneven_where_there_is_one_order_or_no_tray(counts: tuple[int]) -> None:
    assert evenness(counts) == 1.0
    assert not unbalanced(counts)


@pytest.mark.parametrize(
    ("counts", "speaks"),
    [
        ((4, 4, 4, 4, 4, 4), False),
        ((5, 5, 4, 4, 3, 3), False),
        ((17, 7), True),  # 4.17, p = 0.041
        ((16, 8), False),  # 2.67, p = 0.10
        ((12, 4, 4, 2, 1, 1), True),
        ((6, 6, 6, 6, 6, 0), False),  # 6.0 on 5 degrees, p = 0.31: five orders of six is no harm
        ((12, 12, 0, 0), True),
    ],
)
def test_when_the_caution_speaks(counts: tuple[int, ...], speaks: bool) -> None:
    assert unbalanced(counts) is speaks


def outcomes(trays: int, orders: int) -> Iterator[tuple[int, ...]]:
    if orders == 1:
        yield (trays,)
        return
    for first in range(trays + 1):
        for rest in outcomes(trays - first, orders - 1):
            yield (first, *rest)


@pytest.mark.parametrize(
    ("orders", "trays"),
    [(2, 6), (2, 12), (2, 24), (2, 36), (4, 6), (4, 12), (4, 20), (6, 6), (6, 12)],
)
def test_orders_drawn_by_chance_set_it_off_as_rarely_as_said(orders: int, trays: int) -> None:
    """The exact size of the rule, over all outcomes of a multinomial: 2 to 7 %, as documented."""
    ways = sum(
        factorial(trays) // prod(map(factorial, counts))
        for counts in outcomes(trays, orders)
        if unbalanced(counts)
    )
    assert 0.015 < ways / orders**trays < 0.075


def test_planned_trays_alone_never_set_it_off() -> None:
    for trays in range(1, 80):
        stream = Stream(bytes(32), f"s{trays}/orders")
        (wave,) = deal_orders(stream, TRIANGLE, (trays,), one_shuffle=True)
        assert not balance_of(wave, TRIANGLE).unbalanced


def test_the_tables_of_a_small_sitting() -> None:
    balance = balance_of(["AB", "AB", "BA"], ("AB", "BA"))
    assert balance.trays == 3
    assert balance.by_order == (OrderCount("AB", 2), OrderCount("BA", 1))
    assert balance.by_place == (
        PlaceCount(1, "A", 2),
        PlaceCount(1, "B", 1),
        PlaceCount(2, "A", 1),
        PlaceCount(2, "B", 2),
    )
    assert balance.p == pytest.approx(chisquare([2, 1]).pvalue)
    assert not balance.unbalanced


@given(st.lists(st.sampled_from(TRIANGLE), max_size=40))
def test_every_tray_is_counted_once_in_every_position(counted: list[str]) -> None:
    balance = balance_of(counted, TRIANGLE)
    assert sum(count.trays for count in balance.by_order) == len(counted)
    for position in (1, 2, 3):
        here = [place for place in balance.by_place if place.position == position]
        assert sum(place.trays for place in here) == len(counted)
        for place in here:
            assert place.trays == sum(order[position - 1] == place.beer for order in counted)


def test_an_order_that_was_never_counted_is_shown_as_none() -> None:
    assert OrderCount("ABB", 0) in balance_of(["AAB"], TRIANGLE).by_order


def test_an_order_the_method_does_not_have_is_refused() -> None:
    with pytest.raises(ValueError, match="does not have: AAA"):
        balance_of(["AAB", "AAA"], TRIANGLE)
