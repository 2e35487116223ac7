"""Serving orders: balance at every size, every wave and every prefix; no order preferred."""

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import accumulate, combinations, pairwise, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chisquare

from panel.core.allocation.draw import Stream
from panel.core.allocation.orders import deal_independent_orders, deal_orders, wave_sizes_of

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
DUO_TRIO = ("AAB", "ABA", "BAB", "BBA")
PAIRED = ("AB", "BA")
TETRAD = tuple(
    "".join("A" if place in pair else "B" for place in range(4))
    for pair in combinations(range(4), 2)
)
TWO_OUT_OF_FIVE = tuple(
    "".join(odd if place in pair else other for place in range(5))
    for odd, other in ("AB", "BA")
    for pair in combinations(range(5), 2)
)
FOUR_BEERS = tuple("".join(order) for order in permutations("ABCD"))
SETS = (PAIRED, DUO_TRIO, TRIANGLE, TETRAD, TWO_OUT_OF_FIVE, FOUR_BEERS, ("AAB",))

SECRETS = st.binary(min_size=32, max_size=32)
SECRET = bytes(range(32))


def orders(secret: bytes = SECRET) -> Stream:
    return Stream(secret, "s1/orders")


def spread(dealt: Iterable[str], complete_set: Sequence[str]) -> int:
    counts = Counter(dealt)
    return max(counts[order] for order in complete_set) - min(
        counts[order] for order in complete_set
    )


@given(SECRETS, st.sampled_from(SETS), st.integers(1, 150), st.sampled_from((6, 12)))
def test_waves_are_balanced_alone_together_and_at_every_stage(
    secret: bytes, complete_set: tuple[str, ...], trays: int, wave_size: int
) -> None:
    sizes = wave_sizes_of(trays, wave_size)
    waves = deal_orders(orders(secret), complete_set, sizes, one_shuffle=False)
    assert tuple(map(len, waves)) == sizes
    assert {order for wave in waves for order in wave} <= set(complete_set)
    assert all(spread(wave, complete_set) <= 1 for wave in waves)
    for served in accumulate(waves):
        assert spread(served, complete_set) <= 1


@given(SECRETS, st.sampled_from(SETS), st.integers(1, 150))
def test_one_shuffle_is_balanced_over_the_whole(
    secret: bytes, complete_set: tuple[str, ...], trays: int
) -> None:
    sizes = wave_sizes_of(trays, 6)
    waves = deal_orders(orders(secret), complete_set, sizes, one_shuffle=True)
    assert tuple(map(len, waves)) == sizes
    assert spread((order for wave in waves for order in wave), complete_set) <= 1


@pytest.mark.parametrize("one_shuffle", [False, True])
@pytest.mark.parametrize("complete_set", SETS)
def test_balance_holds_at_every_number_of_trays(
    complete_set: tuple[str, ...], one_shuffle: bool
) -> None:
    for trays in range(1, 101):
        waves = deal_orders(orders(), complete_set, wave_sizes_of(trays, 6), one_shuffle)
        dealt = [order for wave in waves for order in wave]
        assert len(dealt) == trays
        assert spread(dealt, complete_set) <= 1


def test_waves_of_six_hold_each_triangle_order_once() -> None:
    waves = deal_orders(orders(), TRIANGLE, (6, 6, 6, 6), one_shuffle=False)
    assert all(sorted(wave) == sorted(TRIANGLE) for wave in waves)
    assert len(set(waves)) > 1


def test_one_shuffle_does_not_keep_to_waves() -> None:
    waves = deal_orders(orders(), TRIANGLE, (6,) * 10, one_shuffle=True)
    assert any(len(set(wave)) < 6 for wave in waves)


@pytest.mark.parametrize("one_shuffle", [False, True])
@pytest.mark.parametrize("place", [0, 1, 3, 6, 7])
def test_each_order_is_equally_likely_in_each_place(place: int, one_shuffle: bool) -> None:
    """8 trays by 6: places 6 and 7 are the remainder, whose orders are drawn."""
    stream, counts = orders(), dict.fromkeys(TRIANGLE, 0)
    for _ in range(3000):
        waves = deal_orders(stream, TRIANGLE, (6, 2), one_shuffle)
        counts[[order for wave in waves for order in wave][place]] += 1
    assert chisquare(list(counts.values())).pvalue > 0.001


def test_independent_orders_repeat_as_dice_do() -> None:
    """Adjacent trays are alike one time in six, which a balanced wave never comes near."""
    ((*drawn,),) = deal_independent_orders(orders(), TRIANGLE, (6000,))
    assert chisquare(list(Counter(drawn).values())).pvalue > 0.001
    pairs = Counter(pairwise(drawn))
    assert len(pairs) == 36
    assert chisquare(list(pairs.values())).pvalue > 0.001


def test_independent_orders_are_cut_into_waves() -> None:
    assert tuple(map(len, deal_independent_orders(orders(), TRIANGLE, (6, 6, 1)))) == (6, 6, 1)


@pytest.mark.parametrize(
    ("trays", "wave_size", "sizes"),
    [(20, 6, (6, 6, 6, 2)), (24, 12, (12, 12)), (5, 6, (5,)), (0, 6, ())],
)
def test_the_last_wave_may_be_smaller(trays: int, wave_size: int, sizes: tuple[int, ...]) -> None:
    assert wave_sizes_of(trays, wave_size) == sizes


@pytest.mark.parametrize("complete_set", [(), ("AB", "AB"), ("AB", "ABA"), ("",)])
def test_a_set_that_is_none_is_refused(complete_set: tuple[str, ...]) -> None:
    with pytest.raises(ValueError, match="complete set"):
        deal_orders(orders(), complete_set, (6,), one_shuffle=False)
    with pytest.raises(ValueError, match="complete set"):
        deal_independent_orders(orders(), complete_set, (6,))
