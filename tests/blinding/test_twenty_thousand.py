"""Codes, orders, card numbers and the order of printing, over twenty thousand sittings.

Six trays of a triangle each, drawn, numbered and labelled by the program's own functions: 120,000
trays, 360,000 cups. Secrets are fixed, so a result never changes by itself. The bar is 0.001 for
all pairs together, divided among them: of a thousand fair programs one would be accused, whichever
pair it is that errs. That the test keeps that rate is itself tested, and that every pair notices a
leak planted at one sitting in twenty-five.
"""

from collections.abc import Callable
from hashlib import sha256

import numpy as np
import pytest
from numpy.typing import NDArray

from panel.core.allocation.check_letter import card_number
from panel.core.allocation.labels import labels_in_print_order
from panel.core.allocation.trays import draw_sitting
from panel.core.methods.triangle import METHOD as TRIANGLE
from panel.core.names import Paper
from panel.core.paper.stock import PLAIN
from tests.blinding.dependence import dependence, planted
from tests.printing.papers import plan_of

SITTINGS = 20_000
TRAYS, CUPS = 6, 3
PLANTED_EVERY = 25
ODD_SHARES = np.array([2 / 3, 1 / 3])

Whole = NDArray[np.int64]


class Drawn:
    """Sittings × trays (× cups): `code`, `second` (it holds B), `odd` (the cup that answers),
    `order`, `number`, `check` letter, `label` (its place among the printed)."""

    def __init__(self) -> None:
        complete = TRIANGLE.orders(plan_of("triangle"))
        index = {order: place for place, order in enumerate(complete)}
        letters = np.array([[letter == "B" for letter in order] for order in complete])
        letter_of = {number: ord(card_number(number)[-1]) for number in range(1, TRAYS + 1)}
        code, order, number, label = [], [], [], []
        for sitting in range(SITTINGS):
            secret = sha256(f"twenty thousand {sitting}".encode()).digest()
            trays = draw_sitting(secret, "s", 1, complete, TRAYS, 6, False, spare_factor=1).trays
            printed = labels_in_print_order((tray.number, tray.codes()) for tray in trays)
            place_of = {one.code: place for place, one in enumerate(printed)}
            code.append([[int(cup) for cup in tray.codes()] for tray in trays])
            label.append([[place_of[cup] for cup in tray.codes()] for tray in trays])
            order.append([index[tray.order] for tray in trays])
            number.append([tray.number for tray in trays])
        self.code, self.label = np.array(code), np.array(label)
        self.order, self.number = np.array(order), np.array(number)
        self.check = np.vectorize(letter_of.get)(self.number)
        self.second = letters[self.order].astype(np.int64)
        self.odd = (self.second == (self.second.sum(axis=2) == 1)[:, :, None]).astype(np.int64)


@pytest.fixture(scope="module")
def drawn() -> Drawn:
    return Drawn()


def digits(code: Whole) -> Whole:
    """Hundreds, tens and ones, the last axis."""
    return np.stack([code // 100, code // 10 % 10, code % 10], axis=-1)


def rank(code: Whole) -> Whole:
    return code.argsort(axis=2).argsort(axis=2)


STOCK = PLAIN[Paper.A4]

OF_A_CUP: dict[str, Callable[[Drawn], Whole]] = {
    "code": lambda drawn: drawn.code,
    "first digit": lambda drawn: digits(drawn.code)[..., 0],
    "second digit": lambda drawn: digits(drawn.code)[..., 1],
    "third digit": lambda drawn: digits(drawn.code)[..., 2],
    "sum of digits": lambda drawn: digits(drawn.code).sum(axis=-1),
    "odd digits": lambda drawn: (digits(drawn.code) % 2).sum(axis=-1),
    "rank on its tray": lambda drawn: rank(drawn.code),
    "place of its label": lambda drawn: drawn.label,
    "row of its label": lambda drawn: drawn.label % STOCK.count // STOCK.columns,
    "column of its label": lambda drawn: drawn.label % STOCK.columns,
    **{f"code mod {by}": lambda drawn, by=by: drawn.code % by for by in range(2, 13)},
}
"""What is seen of a cup; hidden is whether it holds B, and whether it is the odd one."""

OF_A_TRAY: dict[str, Callable[[Drawn], Whole]] = {
    "card number": lambda drawn: drawn.number,
    "card number mod 2": lambda drawn: drawn.number % 2,
    "card number mod 3": lambda drawn: drawn.number % 3,
    "check letter": lambda drawn: drawn.check,
    "sheet of its card": lambda drawn: (drawn.number - 1) % 2,
    "place of its card on the sheet": lambda drawn: (drawn.number - 1) // 2,
    "first digit of its first code": lambda drawn: digits(drawn.code[:, :, 0])[..., 0],
    "its first code mod 6": lambda drawn: drawn.code[:, :, 0] % 6,
    "how its codes stand to each other": lambda drawn: rank(drawn.code) @ (9, 3, 1),
    "order at its place at the sitting before": lambda drawn: np.roll(drawn.order, 1, axis=0),
}
"""What is seen of a tray; hidden is its order."""

PAIRS = [
    *((name, hidden) for name in OF_A_CUP for hidden in ("letter", "odd cup")),
    *((name, "order") for name in OF_A_TRAY),
]
BAR = 0.001 / len(PAIRS)


def pair_of(drawn: Drawn, name: str, hidden: str) -> tuple[Whole, Whole, Whole | None]:
    """Seen, hidden and the shares of the hidden, sittings × things."""
    if hidden == "order":
        return OF_A_TRAY[name](drawn), drawn.order, None
    seen = OF_A_CUP[name](drawn).reshape(SITTINGS, -1)
    if hidden == "letter":
        return seen, drawn.second.reshape(SITTINGS, -1), None
    return seen, drawn.odd.reshape(SITTINGS, -1), ODD_SHARES


@pytest.mark.parametrize(("name", "hidden"), PAIRS)
def test_nothing_that_is_seen_says_anything_and_a_leak_is_noticed(
    drawn: Drawn, name: str, hidden: str
) -> None:
    seen, kept, shares = pair_of(drawn, name, hidden)
    assert dependence(seen, kept, shares) > BAR
    assert dependence(seen, planted(seen, kept, PLANTED_EVERY), shares) < BAR


def test_every_place_on_the_tray_has_each_beer_equally_often_at_every_sitting(
    drawn: Drawn,
) -> None:
    """Exactly, not on average: whole waves are balanced, so there is nothing to be learnt."""
    assert (drawn.second.sum(axis=1) == TRAYS // 2).all()
    assert (drawn.odd.sum(axis=1) == TRAYS // CUPS).all()


def test_a_wave_that_begins_alike_at_one_sitting_in_fifty_is_noticed(drawn: Drawn) -> None:
    rigged = drawn.order.copy()
    for wave in rigged[::50]:
        wave[wave == 0] = wave[0]
        wave[0] = 0
    assert dependence(drawn.number, drawn.order) > BAR
    assert dependence(drawn.number, rigged) < BAR


def test_the_test_accuses_the_innocent_as_often_as_it_says(drawn: Drawn) -> None:
    """Two hundred runs over a hundred sittings each: of a fair draw one in twenty has p < 0.05.
    Between 1 and 23 of 200, as all but two in ten thousand binomial counts are."""
    for name, hidden in (("card number", "order"), ("first digit", "letter")):
        seen, kept, shares = pair_of(drawn, name, hidden)
        parts = zip(np.split(seen, 200), np.split(kept, 200), strict=True)
        low = sum(dependence(one, other, shares) < 0.05 for one, other in parts)
        assert 1 <= low <= 23
