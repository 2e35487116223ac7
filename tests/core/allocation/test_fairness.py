"""Over many draws nothing that people can see says which beer is in a cup.

Each statistic is also tried on a rigged draw, so that it is known to speak. Secrets are fixed; a
fair draw fails a check with p < 0.001, so none of these is left to luck.
"""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from itertools import groupby
from math import sqrt

import numpy as np
import pytest
from scipy.stats import chi2_contingency, chisquare

from panel.core.allocation.codes import POOL
from panel.core.allocation.trays import DrawnCup, DrawnTray, SittingDraw, draw_sitting

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
DRAWS = 1200
PLANNED = 20  # with spares 40 trays, 120 cups: 144,000 cups in all; the waves' rests included


def secret(number: int) -> bytes:
    return number.to_bytes(32, "big")


@pytest.fixture(scope="module")
def draws() -> list[SittingDraw]:
    return [
        draw_sitting(secret(number), "s1", 1, TRIANGLE, PLANNED, 6, False)
        for number in range(DRAWS)
    ]


@pytest.fixture(scope="module")
def trays(draws: list[SittingDraw]) -> list[DrawnTray]:
    return [tray for draw in draws for tray in draw.trays]


@pytest.fixture(scope="module")
def cups(trays: list[DrawnTray]) -> list[DrawnCup]:
    return [cup for tray in trays for cup in tray.cups]


def association(pairs: Iterable[tuple[Hashable, Hashable]]) -> float:
    """The p-value of Pearson's chi-square for independence of two things seen together."""
    counts = Counter(pairs)
    rows, columns = (sorted({pair[side] for pair in counts}, key=str) for side in (0, 1))
    table = np.array([[counts[row, column] for column in columns] for row in rows])
    return float(chi2_contingency(table).pvalue)


OF_A_CODE: dict[str, Callable[[str], Hashable]] = {
    "code": lambda code: code,
    "first digit": lambda code: code[0],
    "second digit": lambda code: code[1],
    "last digit": lambda code: code[2],
    "parity": lambda code: int(code) % 2,
    "sum of digits": lambda code: sum(map(int, code)),
    "above the middle": lambda code: code > POOL[292],
}


@pytest.mark.parametrize("feature", OF_A_CODE)
def test_a_code_says_nothing_of_its_beer(cups: list[DrawnCup], feature: str) -> None:
    assert association((OF_A_CODE[feature](cup.code), cup.beer) for cup in cups) > 0.001


@pytest.mark.parametrize("feature", OF_A_CODE)
def test_a_code_says_nothing_of_its_position(cups: list[DrawnCup], feature: str) -> None:
    assert association((OF_A_CODE[feature](cup.code), cup.position) for cup in cups) > 0.001


def test_the_mean_code_is_the_same_for_both_beers(cups: list[DrawnCup]) -> None:
    codes = {beer: [int(cup.code) for cup in cups if cup.beer == beer] for beer in "AB"}
    error = sqrt(sum(np.var(codes[beer]) / len(codes[beer]) for beer in "AB"))
    assert abs(np.mean(codes["A"]) - np.mean(codes["B"])) < 3.29 * error


def test_every_code_is_dealt_equally_often(cups: list[DrawnCup]) -> None:
    counts = Counter(cup.code for cup in cups)
    assert chisquare([counts[code] for code in POOL]).pvalue > 0.001


def test_the_odd_cup_has_no_code_of_its_own_kind(trays: list[DrawnTray]) -> None:
    """The lowest, middle or highest code of a tray is the odd cup's one time in three each."""
    ranks = Counter(
        sorted(tray.codes()).index(cup.code)
        for tray in trays
        for cup in tray.cups
        if tray.order.count(cup.beer) == 1
    )
    assert chisquare([ranks[rank] for rank in range(3)]).pvalue > 0.001


@pytest.mark.parametrize("modulus", range(2, 13))
def test_a_card_number_says_nothing_of_its_order(trays: list[DrawnTray], modulus: int) -> None:
    assert association((tray.number % modulus, tray.order) for tray in trays) > 0.001


def test_neither_card_nor_place_says_anything_of_the_order(trays: list[DrawnTray]) -> None:
    assert association((tray.number, tray.order) for tray in trays) > 0.001
    assert association((tray.place, tray.order) for tray in trays) > 0.001


def test_a_position_says_nothing_of_its_beer(cups: list[DrawnCup]) -> None:
    assert association((cup.position, cup.beer) for cup in cups) > 0.001


def test_two_sittings_of_one_secret_are_strangers() -> None:
    pairs = [
        (first.order, second.order)
        for number in range(300)
        for first, second in zip(
            draw_sitting(secret(number), "s1", 1, TRIANGLE, 12, 6, False).trays,
            draw_sitting(secret(number), "s2", 1, TRIANGLE, 12, 6, False).trays,
            strict=True,
        )
    ]
    assert association(pairs) > 0.001


def test_a_rigged_deal_of_codes_is_noticed(trays: list[DrawnTray]) -> None:
    """The lowest code of every twentieth tray is put on an A: first digits give it away."""
    rigged = [rig(tray) if index % 20 == 0 else tray for index, tray in enumerate(trays)]
    cups = [cup for tray in rigged for cup in tray.cups]
    assert association((cup.code[0], cup.beer) for cup in cups) < 0.001


def rig(tray: DrawnTray) -> DrawnTray:
    codes = iter(sorted(tray.codes()))
    by_beer = sorted(tray.cups, key=lambda cup: cup.beer)
    return replace(tray, cups=tuple(replace(cup, code=next(codes)) for cup in by_beer))


def test_orders_that_follow_card_numbers_are_noticed(trays: list[DrawnTray]) -> None:
    """One tray in thirty takes the order that its number modulo 6 names."""
    pairs = [
        (tray.number % 6, TRIANGLE[tray.number % 6] if index % 30 == 0 else tray.order)
        for index, tray in enumerate(trays)
    ]
    assert association(pairs) < 0.001


def guessed(served: Sequence[Sequence[str]]) -> tuple[int, int]:
    """How many trays a guesser gets right who sees every earlier order of the block: the guess is
    an order seen least often so far (ties to the front of a fixed list)."""
    right = trays = 0
    for block in served:
        seen: Counter[str] = Counter()
        for order in block:
            right += order == min(TRIANGLE, key=lambda guess: seen[guess])
            seen[order] += 1
        trays += len(block)
    return right, trays


def by_wave(draw: SittingDraw) -> list[list[str]]:
    waves = groupby((tray for tray in draw.trays if not tray.spare), key=lambda tray: tray.wave)
    return [[tray.order for tray in wave] for _, wave in waves]


def whole(draw: SittingDraw) -> list[list[str]]:
    return [[tray.order for tray in draw.trays if not tray.spare]]


def share_guessed(
    blocks: Callable[[SittingDraw], list[list[str]]], one_shuffle: bool, independent: bool
) -> float:
    right = trays = 0
    for number in range(300):
        draw = draw_sitting(
            secret(number), "s1", 1, TRIANGLE, 36, 6, one_shuffle, independent=independent
        )
        hits, of = guessed(blocks(draw))
        right, trays = right + hits, trays + of
    return right / trays


def test_why_who_sees_the_key_gets_one_shuffle_and_open_answers_independent_draws() -> None:
    """Waves of six distinct orders let a guesser who sees all earlier ones get (1 + 1/2 + … +
    1/6)/6 = 40.8 % right (Blackwell and Hodges' reckoning for blocks); one shuffle of 36 far less;
    independent orders only chance, 16.7 %."""
    harmonic = sum(1 / left for left in range(1, 7)) / 6
    error = sqrt(harmonic * (1 - harmonic) / 10_800)
    waves = share_guessed(by_wave, one_shuffle=False, independent=False)
    shuffled = share_guessed(whole, one_shuffle=True, independent=False)
    alone = share_guessed(whole, one_shuffle=False, independent=True)
    assert waves == pytest.approx(harmonic, abs=3.29 * error)
    assert alone <= 1 / 6 + 3.29 * sqrt(5 / 36 / 10_800)
    assert alone < shuffled < waves - 0.1
