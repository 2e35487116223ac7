"""Leaks planted in draw, numbers, labels and tokens: the guessers must find every one of them.

A guard that has never barked proves nothing. Each leak is one step of making a sitting taken
wrongly; the name says how a careless program, or a sly one, could come to it.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from hashlib import sha256

import pytest

from panel.core.allocation.labels import CupLabel
from panel.core.allocation.trays import DrawnTray, SittingDraw
from panel.core.comparison import Comparison
from panel.core.paper.payload import TrayTokens
from tests.blinding.cups import Making, cups_of, draw, labels, tokens
from tests.blinding.guessing import GUESSERS, guesses

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
SITTINGS = 50

Rig = Callable[[DrawnTray, bool], DrawnTray]


def rigged(rig: Rig, every: int = 1) -> Making:
    """Sittings of which every so manieth tray is rigged after an honest draw."""

    def step(secret: bytes, comparison: Comparison, exchanged: bool) -> SittingDraw:
        fair = draw(secret, comparison, exchanged)
        trays = (rig(tray, exchanged) if tray.number % every == 0 else tray for tray in fair.trays)
        return replace(fair, trays=tuple(trays))

    return Making(draw=step)


def codes_by(rank: Callable[[str], int], *, beer: bool = False) -> Rig:
    """The tray's codes dealt again, lowest rank to the A, or to the first beer whatever its
    letter."""

    def rig(tray: DrawnTray, exchanged: bool) -> DrawnTray:
        first = "B" if beer and exchanged else "A"
        supply = iter(sorted(tray.codes(), key=lambda code: (rank(code), int(code))))
        dealt = {
            cup.position: replace(cup, code=next(supply))
            for cup in sorted(tray.cups, key=lambda cup: cup.beer != first)
        }
        return replace(tray, cups=tuple(dealt[place] for place in sorted(dealt)))

    return rig


def order_by(choose: Callable[[DrawnTray], str]) -> Rig:
    """The tray's order chosen anew; its codes stay."""

    def rig(tray: DrawnTray, _exchanged: bool) -> DrawnTray:
        order = choose(tray)
        cups = tuple(replace(cup, beer=beer) for cup, beer in zip(tray.cups, order, strict=True))
        return replace(tray, order=order, cups=cups)

    return rig


def middle_code_to_the_odd_one(tray: DrawnTray, _exchanged: bool) -> DrawnTray:
    low, middle, high = sorted(tray.codes())
    odd = next(cup.beer for cup in tray.cups if tray.order.count(cup.beer) == 1)
    rest = iter((low, high))
    return replace(
        tray,
        cups=tuple(
            replace(cup, code=middle if cup.beer == odd else next(rest)) for cup in tray.cups
        ),
    )


def token_of_the_order(_secret: bytes, _comparison: Comparison, tray: DrawnTray) -> TrayTokens:
    """A token made of what should be hidden, "hashed" and so thought safe."""
    words = sha256(tray.order.encode()).hexdigest().upper()
    letters = words.translate(str.maketrans("0189", "GHIJ"))
    return TrayTokens(letters[:16], letters[16:24])


def short_code_of_the_order(secret: bytes, comparison: Comparison, tray: DrawnTray) -> TrayTokens:
    fair = tokens(secret, comparison, tray)
    return fair._replace(short_code="ACEGIK"[TRIANGLE.index(tray.order)] + fair.short_code[1:])


def labels_beer_by_beer(trays: Sequence[DrawnTray]) -> Sequence[CupLabel]:
    beers = {(tray.number, cup.position): cup.beer for tray in trays for cup in tray.cups}
    return sorted(labels(trays), key=lambda label: beers[label.number, label.position])


def known_number(code: str) -> int:
    """A table that somebody keeps: this code is always in that beer."""
    return sha256(code.encode()).digest()[0]


LEAKS: dict[str, Making] = {
    "even codes for one beer": rigged(codes_by(lambda code: int(code) % 2, beer=True)),
    "higher codes for one letter": rigged(codes_by(int)),
    "codes with a larger sum for one beer": rigged(
        codes_by(lambda code: sum(map(int, code)), beer=True)
    ),
    "the last digit tells the letter": rigged(codes_by(lambda code: int(code[2]))),
    "codes that stay with their beer": rigged(codes_by(known_number)),
    "the middle code for the odd cup": rigged(middle_code_to_the_odd_one),
    "cups set out letter by letter": rigged(order_by(lambda tray: "".join(sorted(tray.order)))),
    "the order follows the card number by six": rigged(
        order_by(lambda tray: TRIANGLE[tray.number % 6])
    ),
    "the order follows the card number by twelve": rigged(
        order_by(lambda tray: TRIANGLE[tray.number % 12 // 2])
    ),
    "every wave comes in the same turn": rigged(order_by(lambda tray: TRIANGLE[tray.place - 1])),
    "spares all have one order": rigged(order_by(lambda tray: "AAB" if tray.spare else tray.order)),
    "the order follows the first code": rigged(
        order_by(lambda tray: TRIANGLE[int(tray.codes()[0]) % 6])
    ),
    "a token made of the order": Making(tokens=token_of_the_order),
    "a letter of the short code": Making(tokens=short_code_of_the_order),
    "labels printed beer by beer": Making(labels=labels_beer_by_beer),
}


@pytest.mark.parametrize("leak", LEAKS)
def test_it_is_found(leak: str) -> None:
    assert any(guess.knows for guess in guesses(cups_of(LEAKS[leak], SITTINGS)))


TETRAD = ("AABB", "ABAB", "ABBA", "BBAA", "BABA", "BAAB")
ITS_OWN = {
    "memory": LEAKS["codes that stay with their beer"],
    "tree": LEAKS["higher codes for one letter"],
    "regression": LEAKS["even codes for one beer"],
    # In a tetrad each order has two of each letter: over all places nothing adds up.
    "regression by place": replace(
        rigged(order_by(lambda tray: TETRAD[tray.number % 6])), method="tetrad"
    ),
}


@pytest.mark.parametrize("guesser", GUESSERS)
def test_every_guesser_finds_a_leak_alone(guesser: str) -> None:
    others = set(GUESSERS) - {guesser}
    assert any(guess.knows for guess in guesses(cups_of(ITS_OWN[guesser], SITTINGS), but=others))


def test_a_leak_in_one_tray_of_eight_is_found_among_twenty_thousand_cups() -> None:
    making = rigged(codes_by(int), every=8)
    assert any(guess.knows for guess in guesses(cups_of(making, 280)))


def test_what_follows_the_beer_and_not_the_letter_needs_the_coin() -> None:
    """A coin letters the beers sitting by sitting: by letters alone such a leak is half hidden."""
    found = list(guesses(cups_of(LEAKS["even codes for one beer"], SITTINGS)))
    best = {
        target: max(guess.share for guess in found if guess.target == target)
        for target in ("letter", "beer")
    }
    assert best["beer"] > best["letter"] + 0.1
