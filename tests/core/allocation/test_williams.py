"""Complete orders of several beers: position and carry-over balanced, as the literature has it."""

from collections import Counter
from itertools import pairwise

import pytest

from panel.core.allocation.williams import williams_orders

EIGHT = range(2, 9)


def neighbours(orders: tuple[str, ...]) -> Counter[tuple[str, str]]:
    return Counter(pair for order in orders for pair in pairwise(order))


def places(orders: tuple[str, ...]) -> Counter[tuple[int, str]]:
    return Counter(place for order in orders for place in enumerate(order))


@pytest.mark.parametrize("beers", EIGHT)
def test_williams_properties(beers):
    """Williams 1949 and MacFie et al. 1989 (property from memory): t rows for an even number, 2t
    for an odd one; each beer 1 or 2 times per position, each ordered pair adjacent 1 or 2 times."""
    orders = williams_orders(beers)
    times = 1 + beers % 2
    assert len(orders) == len(set(orders)) == beers * times
    assert all(len(set(order)) == beers for order in orders)
    assert set(places(orders).values()) == {times}
    assert len(places(orders)) == beers * beers
    assert set(neighbours(orders).values()) == {times}
    assert len(neighbours(orders)) == beers * (beers - 1)


def test_the_square_of_the_textbook():
    """Jones & Kenward, Design and Analysis of Cross-Over Trials (from memory)."""
    assert williams_orders(4) == ("ABDC", "BCAD", "CDBA", "DACB")
    assert set(williams_orders(3)) == {"ABC", "BCA", "CAB", "CBA", "ACB", "BAC"}
    five = "ABECD BCADE CDBEA DECAB EADBC DCEBA EDACB AEBDC BACED CBDAE"
    assert set(williams_orders(5)) == set(five.split())


@pytest.mark.parametrize("beers", [0, 1, 9])
def test_no_orders_for_other_numbers(beers):
    with pytest.raises(ValueError, match="2 to 8 beers"):
        williams_orders(beers)
