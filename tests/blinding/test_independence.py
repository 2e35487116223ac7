"""What is printed and numbered says nothing of the orders, over many sittings.

Secrets are fixed; each test of a fair program errs with p = 0.001 at most, sittings counted whole
(dependence.py). Codes, card numbers' rests and places in waves have theirs in
tests/core/allocation/test_fairness.py, lots in test_split.py there, and over twenty thousand small
sittings all together in test_twenty_thousand.py; here are sittings with spares and the ways of
printing: labels on their sheets, cards on theirs, tokens and short codes, cover names, and what
regulars remember from one sitting to the next.
"""

from collections.abc import Callable
from hashlib import sha256

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import chi2_contingency, chisquare

from panel.core.allocation.cover_names import NAMES, draw_cover_names
from panel.core.allocation.draw import COVER_NAMES, ORDERS, Stream, purpose_of
from panel.core.allocation.orders import deal_orders
from panel.core.methods.triangle import METHOD as TRIANGLE
from panel.core.names import Paper
from panel.core.paper.stock import LABELS, PLAIN
from tests.blinding.cups import Cups, Making, cups_of
from tests.blinding.dependence import dependence
from tests.printing.papers import plan_of

LEAST = 0.001
SITTINGS = 2_000
SHORT_SITTINGS = 20_000
CARDS_ON_A_SHEET = 4
ODD_SHARES = np.array([2 / 3, 1 / 3])
"""One cup of three answers the question of a triangle."""


def independent(one: NDArray[np.generic], other: NDArray[np.generic]) -> float:
    """The p-value of Pearson's chi-square, for pairs that are independent of each other."""
    _, row = np.unique(one.ravel(), return_inverse=True)
    _, column = np.unique(other.ravel(), return_inverse=True)
    table = np.zeros((row.max() + 1, column.max() + 1))
    np.add.at(table, (row, column), 1)
    return float(chi2_contingency(table, correction=False).pvalue)


def by_sitting(values: NDArray[np.generic]) -> NDArray[np.int64]:
    """Sittings × things."""
    return values.reshape(SITTINGS, -1).astype(np.int64)


@pytest.fixture(scope="module")
def cups() -> Cups:
    """Twelve trays a sitting, spares among them: 72,000 cups."""
    return cups_of(Making(planned=6), SITTINGS, seed="independence")


def orders_of(cups: Cups) -> NDArray[np.int64]:
    """A number for each tray's order."""
    return cups.second @ (1 << np.arange(cups.second.shape[1]))


# --- paper ---------------------------------------------------------------------------------------

STOCKS = (PLAIN[Paper.A4], PLAIN[Paper.LETTER], *(LABELS[name] for name in sorted(LABELS)[:2]))

ON_LABELS: dict[str, Callable[[NDArray[np.int64]], NDArray[np.int64]]] = {
    "place in the pile": lambda label: label,
    **{
        f"{side} on {stock.id}": find
        for stock in STOCKS
        for side, find in (
            ("row", lambda label, stock=stock: label % stock.count // stock.columns),
            ("column", lambda label, stock=stock: label % stock.columns),
            ("sheet", lambda label, stock=stock: label // stock.count),
        )
    },
}


@pytest.mark.parametrize("name", ON_LABELS)
def test_where_a_label_is_printed_says_nothing_of_its_cup(cups: Cups, name: str) -> None:
    place = ON_LABELS[name](cups.label)
    if np.ptp(place):
        assert dependence(by_sitting(place), by_sitting(cups.second)) > LEAST / 2
        assert cups.telling is not None
        found = dependence(by_sitting(place), by_sitting(cups.telling), ODD_SHARES)
        assert found > LEAST / 2


def test_where_a_card_is_printed_says_nothing_of_its_order(cups: Cups) -> None:
    sheets = -(-cups.cards // CARDS_ON_A_SHEET)
    orders = by_sitting(orders_of(cups))
    for place in (cups.card, cups.card % sheets, cups.card // sheets, cups.check):
        assert dependence(by_sitting(place), orders) > LEAST / 4


def test_spares_have_the_same_orders(cups: Cups) -> None:
    """Exactly: planned trays and spares are balanced each by themselves."""
    orders = by_sitting(orders_of(cups))
    spare = by_sitting(cups.spare) == 1
    for kind in (spare, ~spare):
        assert (np.sort(orders[kind].reshape(SITTINGS, -1)) == np.unique(orders)).all()


def test_no_bit_of_token_or_short_code_says_anything_of_the_order(cups: Cups) -> None:
    """120 bits, so a bar for all of them together: 0.001 divided among them."""
    orders = by_sitting(orders_of(cups))
    values = [dependence(by_sitting(bit), orders) for bit in cups.bits.T]
    assert len(values) == 120
    assert min(values) > LEAST / len(values)


def test_what_a_code_held_at_one_sitting_it_need_not_hold_at_the_next(cups: Cups) -> None:
    """Regulars who remember numbers: a code's letters at even and odd sittings are strangers."""
    sitting = np.repeat(np.arange(SITTINGS), cups.trays // SITTINGS)
    held = [
        np.bincount(cups.code[sitting % 2 == odd].ravel(),
                    np.where(cups.second[sitting % 2 == odd].ravel(), 1.0, -1.0), minlength=1000)
        for odd in (0, 1)
    ]  # fmt: skip
    used = np.bincount(cups.code.ravel(), minlength=1000) > 0
    assert used.sum() == 585
    assert independent(held[0][used] > 0, held[1][used] > 0) > LEAST


# --- more sittings -------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def waves() -> NDArray[np.int64]:
    """The orders of 20,000 sittings of one wave each: sittings × six trays."""
    complete = TRIANGLE.orders(plan_of("triangle"))
    index = {order: number for number, order in enumerate(complete)}
    found = []
    for number in range(SHORT_SITTINGS):
        secret = sha256(f"wave {number}".encode()).digest()
        stream = Stream(secret, purpose_of("s", ORDERS))
        found.append([index[order] for order in deal_orders(stream, complete, (6,), False)[0]])
    return np.array(found)


def test_over_twenty_thousand_sittings_a_place_says_nothing_of_its_order(
    waves: NDArray[np.int64],
) -> None:
    """Places, which card numbers follow: each order at each equally often."""
    place = np.broadcast_to(np.arange(6), waves.shape)
    assert dependence(place, waves) > LEAST


def test_the_first_tray_of_a_sitting_says_nothing_of_the_first_of_the_next(
    waves: NDArray[np.int64],
) -> None:
    for place in range(6):
        assert independent(waves[:-1, place], waves[1:, place]) > LEAST / 6


def test_every_turn_of_a_wave_is_as_likely(waves: NDArray[np.int64]) -> None:
    """720 turns of six orders: none is liked (chi-square of fit)."""
    turn = waves @ 6 ** np.arange(6)
    counts = np.unique(turn, return_counts=True)[1]
    assert len(counts) == 720
    assert chisquare(counts).pvalue > LEAST


def test_a_cover_name_says_nothing_of_its_letter_nor_of_the_orders() -> None:
    """Names are drawn by themselves: which comes first in the alphabet is a coin's business."""
    complete = TRIANGLE.orders(plan_of("triangle"))
    first, order = [], []
    for number in range(4_000):
        secret = sha256(f"cover {number}".encode()).digest()
        names = draw_cover_names(Stream(secret, COVER_NAMES), ("A", "B"))
        first.append(names["A"] < names["B"])
        stream = Stream(secret, purpose_of("s", ORDERS))
        order.append(complete.index(deal_orders(stream, complete, (6,), False)[0][0]))
    assert abs(np.mean(first) - 0.5) < 3.29 * 0.5 / 4_000**0.5
    assert independent(np.array(first), np.array(order)) > LEAST
    assert len(NAMES) > 30


# --- the test itself -----------------------------------------------------------------------------


def test_labels_printed_beer_by_beer_are_noticed(cups: Cups) -> None:
    """One sitting in twenty is enough."""
    place = cups.label.copy().reshape(SITTINGS, -1)
    beer = cups.second.reshape(SITTINGS, -1)
    place[::20] = beer[::20].argsort(axis=1, kind="stable").argsort(axis=1)
    assert dependence(place // 18, beer.astype(np.int64)) < LEAST


def test_a_wave_that_begins_alike_is_noticed(waves: NDArray[np.int64]) -> None:
    """One sitting in twenty-five begins with the first order of the set."""
    rigged = waves.copy()
    for wave in rigged[::25]:
        wave[wave == 0] = wave[0]
        wave[0] = 0
    place = np.broadcast_to(np.arange(6), rigged.shape)
    assert dependence(place, rigged) < LEAST
