"""The lots of a split sitting: even in every wave and over the orders, and blind to all else."""

from collections import Counter
from itertools import groupby

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2_contingency, chisquare

from panel.core.allocation.trays import DrawnTray, SittingDraw, draw_sitting, informed_of

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
DUO_TRIO = ("AAB", "ABA", "BAB", "BBA")
PAIR = ("AB", "BA")
DRAWS = 1500


def split(secret: bytes, orders: tuple[str, ...], planned: int, **facts: object) -> SittingDraw:
    settings = {"wave_size": 6, "one_shuffle": False, "split": True, **facts}
    return draw_sitting(secret, "s", 1, orders, planned, **settings)  # type: ignore[arg-type]


def waves(trays: tuple[DrawnTray, ...]) -> list[list[DrawnTray]]:
    return [list(wave) for _, wave in groupby(trays, key=lambda tray: tray.wave)]


def lead(trays: list[DrawnTray] | tuple[DrawnTray, ...]) -> int:
    """Informed trays less blinded ones."""
    return sum(1 if tray.informed else -1 for tray in trays)


CASES = (
    st.binary(min_size=32, max_size=32),
    st.sampled_from((TRIANGLE, DUO_TRIO, PAIR)),
    st.integers(1, 70),
    st.sampled_from((6, 12)),
    st.booleans(),
)


@given(*CASES)
def test_half_are_told_in_all_and_after_every_wave(secret, orders, planned, size, one_shuffle):
    draw = split(secret, orders, planned, wave_size=size, one_shuffle=one_shuffle)
    for group in (draw.trays[:planned], draw.trays[planned:]):
        assert abs(lead(group)) <= 1
        if one_shuffle:
            continue
        so_far: list[DrawnTray] = []
        for wave in waves(group):
            so_far += wave
            assert abs(lead(so_far)) <= 1
            if len(wave) == size:
                assert lead(wave) == 0


@given(*CASES)
def test_each_order_is_told_and_not_told_equally_often(secret, orders, planned, size, one_shuffle):
    """Within one tray where the orders come in whole sets; a rest puts the halves first."""
    draw = split(secret, orders, planned, wave_size=size, one_shuffle=one_shuffle)
    group = draw.trays[: planned if one_shuffle else planned - planned % size]
    for order in orders:
        assert abs(lead([tray for tray in group if tray.order == order])) <= 1


@given(*CASES)
def test_lots_change_no_order_and_no_code(secret, orders, planned, size, one_shuffle):
    told = split(secret, orders, planned, wave_size=size, one_shuffle=one_shuffle)
    not_told = split(secret, orders, planned, wave_size=size, one_shuffle=one_shuffle, split=False)
    assert not informed_of((not_told,))
    assert [(tray.order, tray.codes()) for tray in told.trays] == [
        (tray.order, tray.codes()) for tray in not_told.trays
    ]


@pytest.mark.parametrize("one_shuffle", [False, True])
def test_nothing_that_is_seen_tells_who_is_told(one_shuffle):
    """Number, place, first digit, parity and order over many draws; a fair lot fails a check
    with p < 0.001, and the secrets are fixed."""
    trays = [
        tray
        for number in range(DRAWS)
        for tray in split(number.to_bytes(32, "big"), TRIANGLE, 8, one_shuffle=one_shuffle).trays
    ]
    told = [tray.informed for tray in trays]
    assert chisquare([sum(told), len(told) - sum(told)]).pvalue > 0.001
    for feature in (
        lambda tray: tray.number,
        lambda tray: tray.place,
        lambda tray: tray.order,
        lambda tray: tray.codes()[0][0],
        lambda tray: int(tray.codes()[1]) % 2,
    ):
        table = Counter((feature(tray), tray.informed) for tray in trays)
        rows = sorted({value for value, _ in table}, key=str)
        assert (
            chi2_contingency([[table[row, said] for said in (True, False)] for row in rows])[1]
            > 0.001
        )
