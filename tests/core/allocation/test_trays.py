"""A sitting's draw: numbers, waves, spares, codes and the key that goes under the seal."""

from collections import Counter
from itertools import groupby

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.allocation.codes import POOL, reused_codes
from panel.core.allocation.trays import (
    CupRole,
    DrawnCup,
    SittingDraw,
    draw_sitting,
    key_of,
    key_words,
)
from panel.core.errors import PanelError

TRIANGLE = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
DUO_TRIO = ("AAB", "ABA", "BAB", "BBA")
SECRET = bytes(range(32))


def triangles(planned: int, wave_size: int = 6, **facts: object) -> SittingDraw:
    settings = {"one_shuffle": False, **facts}
    return draw_sitting(SECRET, "s1", 1, TRIANGLE, planned, wave_size, **settings)  # type: ignore[arg-type]


@given(
    st.binary(min_size=32, max_size=32),
    st.integers(1, 500),
    st.sampled_from((TRIANGLE, DUO_TRIO, ("AB", "BA"))),
    st.integers(1, 90),
    st.sampled_from((6, 12)),
    st.booleans(),
    st.integers(1, 3),
)
def test_every_draw_holds_together(
    secret: bytes,
    first: int,
    orders: tuple[str, ...],
    planned: int,
    wave_size: int,
    one_shuffle: bool,
    factor: int,
) -> None:
    draw = draw_sitting(secret, "s", first, orders, planned, wave_size, one_shuffle, (), factor)
    assert draw.drawn == len(draw.trays) == planned * factor
    assert [tray.number for tray in draw.trays] == list(range(first, first + draw.drawn))
    assert [tray.spare for tray in draw.trays] == [False] * planned + [True] * (
        draw.drawn - planned
    )
    for group in (draw.trays[:planned], draw.trays[planned:]):
        counts = Counter(tray.order for tray in group)
        assert max(counts[order] for order in orders) - min(counts[order] for order in orders) <= 1
    for _, wave in groupby(draw.trays, key=lambda tray: tray.wave):
        trays = list(wave)
        codes = [cup.code for tray in trays for cup in tray.cups]
        assert [tray.place for tray in trays] == list(range(1, len(trays) + 1))
        assert len(trays) <= wave_size
        assert len({tray.spare for tray in trays}) == 1
        assert len(set(codes)) == len(codes)
    assert all("".join(cup.beer for cup in tray.cups) == tray.order for tray in draw.trays)
    if sum(len(tray.cups) for tray in draw.trays) <= len(POOL):
        assert reused_codes(tray.codes() for tray in draw.trays) == ()


def test_waves_run_on_and_spares_begin_a_new_one() -> None:
    waves = Counter((tray.wave, tray.spare) for tray in triangles(8).trays)
    assert waves == {(1, False): 6, (2, False): 2, (3, True): 6, (4, True): 2}


def test_the_same_facts_give_the_same_draw_and_any_other_another() -> None:
    draw = triangles(24)
    assert triangles(24) == draw
    assert draw_sitting(bytes(32), "s1", 1, TRIANGLE, 24, 6, False).trays != draw.trays
    assert draw_sitting(SECRET, "s2", 1, TRIANGLE, 24, 6, False).trays != draw.trays


def test_the_first_number_moves_numbers_and_nothing_else() -> None:
    def without_numbers(draw: SittingDraw) -> list[tuple[int, int, tuple[DrawnCup, ...]]]:
        return [(tray.wave, tray.place, tray.cups) for tray in draw.trays]

    later = draw_sitting(SECRET, "s1", 101, TRIANGLE, 24, 6, False)
    assert without_numbers(later) == without_numbers(triangles(24))
    assert later.trays[0].number == 101


def test_more_spares_change_no_planned_tray() -> None:
    few, many = triangles(20, spare_factor=1), triangles(20, spare_factor=3)
    assert few.trays == many.trays[:20]
    assert (few.drawn, many.drawn) == (20, 60)


def test_planned_trays_take_the_codes_before_spares_do() -> None:
    draw = triangles(150)  # 450 planned cups, 900 in all
    assert reused_codes(tray.codes() for tray in draw.trays if not tray.spare) == ()
    assert reused_codes(tray.codes() for tray in draw.trays)


def test_a_reference_cup_is_coded_and_known_as_such() -> None:
    draw = draw_sitting(SECRET, "s1", 1, DUO_TRIO, 4, 6, False, references=(1,))
    for tray in draw.trays:
        assert [cup.role for cup in tray.cups] == [
            CupRole.REFERENCE,
            CupRole.SAMPLE,
            CupRole.SAMPLE,
        ]
        assert len(set(tray.codes())) == 3


def test_excluded_codes_are_on_no_cup() -> None:
    usual = {code for tray in triangles(12).trays for code in tray.codes()}
    draw = triangles(12, excluded_codes=tuple(usual))
    assert not usual & {code for tray in draw.trays for code in tray.codes()}


def test_where_answers_open_no_wave_is_filled_up() -> None:
    """Balanced waves of 6 triangles hold each order once; 20 independent ones cannot all do so."""
    draw = triangles(60, independent=True)
    waves = [{tray.order for tray in draw.trays if tray.wave == wave} for wave in range(1, 11)]
    assert any(len(wave) < 6 for wave in waves)
    assert triangles(60, independent=True, one_shuffle=True) == draw


def test_where_answers_open_no_code_is_used_twice() -> None:
    draw = triangles(97, independent=True)  # 582 of 585 codes
    assert reused_codes(tray.codes() for tray in draw.trays) == ()
    with pytest.raises(PanelError, match=r"need 588 codes, and 585 can be used") as refusal:
        triangles(98, independent=True)
    assert refusal.value.code == "too-many-cups"


@pytest.mark.parametrize(
    ("planned", "wave_size", "code", "field", "sentence"),
    [
        (0, 6, "no-trays", "planned", "at least one tray"),
        (24, 8, "wave-size", "wave_size", "waves of 6 or 12"),
        (5000, 6, "too-many-trays", "planned", "card numbers end at 9999"),
    ],
)
def test_a_sitting_that_cannot_be_drawn_says_why(
    planned: int, wave_size: int, code: str, field: str, sentence: str
) -> None:
    with pytest.raises(PanelError, match=sentence) as refusal:
        triangles(planned, wave_size)
    assert (refusal.value.code, refusal.value.field) == (code, field)


def test_too_many_cups_for_the_codes_left_is_refused() -> None:
    with pytest.raises(PanelError, match="needs 18 coded cups, but only 17 codes"):
        triangles(6, excluded_codes=POOL[17:])


@pytest.mark.parametrize(("first", "factor"), [(0, 2), (1, 0)])
def test_impossible_numbers_are_a_programming_error(first: int, factor: int) -> None:
    with pytest.raises(ValueError, match="card numbers start at 1"):
        draw_sitting(SECRET, "s1", first, TRIANGLE, 6, 6, False, (), factor)


def test_the_key_covers_every_tray_of_every_sitting() -> None:
    first = draw_sitting(SECRET, "s1", 1, TRIANGLE, 6, 6, False)
    second = draw_sitting(SECRET, "s2", 13, TRIANGLE, 6, 6, False)
    orders, words = key_of((first, second)), key_words((first, second))
    assert list(orders) == list(range(1, 25))
    assert list(words) == [str(number) for number in range(1, 25)]
    for tray in first.trays + second.trays:
        assert orders[tray.number] == tray.order
        assert words[str(tray.number)] == [[cup.code, cup.beer] for cup in tray.cups]
