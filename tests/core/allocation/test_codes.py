"""Cup codes: the pool, every cup its own, and what happens when the pool is used up."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.allocation.codes import POOL, deal_codes, reused_codes, usable_codes
from panel.core.allocation.draw import Stream
from panel.core.errors import Fault, PanelError

SECRETS = st.binary(min_size=32, max_size=32)
SECRET = bytes(range(32))


def codes(secret: bytes = SECRET) -> Stream:
    return Stream(secret, "s1/codes")


def test_the_pool_has_585_codes_counted_another_way() -> None:
    """9 × 9 × 8 numbers with different digits; 7 runs up (123 … 789) and 8 down (987 … 210);
    4 × 4 × 3 written wholly in 0, 1, 6, 8, 9. No number is left out twice."""
    assert len(POOL) == 9 * 9 * 8 - 7 - 8 - 4 * 4 * 3 == 585
    assert len(set(POOL)) == 585
    assert list(POOL) == sorted(POOL)


@pytest.mark.parametrize("code", ["123", "789", "987", "210", "168", "906", "690", "112", "500"])
def test_a_code_that_means_or_reads_something_else_is_left_out(code: str) -> None:
    assert code not in POOL


@pytest.mark.parametrize("code", ["102", "482", "135", "894", "976"])
def test_an_ordinary_code_is_in_the_pool(code: str) -> None:
    assert code in POOL


def test_no_cup_turned_round_shows_another_code() -> None:
    turned = str.maketrans("01689", "01986", "23457")
    assert [code for code in POOL if len(code.translate(turned)) == 3] == []


def test_further_codes_can_be_left_out() -> None:
    assert set(POOL) - set(usable_codes(("420", " 137 ", "666"))) == {"420", "137"}


@pytest.mark.parametrize("typed", ["", "42", "4200", "4x0", "४२०", "-42"])
def test_what_is_no_code_cannot_be_left_out(typed: str) -> None:
    with pytest.raises(PanelError, match="three digits") as refusal:
        usable_codes((typed,))
    assert refusal.value.code == "not-a-code"
    assert refusal.value.field == "excluded_codes"


@given(SECRETS, st.lists(st.integers(1, 36), max_size=16))
def test_while_the_supply_lasts_every_cup_has_its_own_code(secret: bytes, cups: list[int]) -> None:
    dealt = deal_codes(codes(secret), cups)
    flat = [code for wave in dealt for code in wave]
    assert [len(wave) for wave in dealt] == cups
    assert set(flat) <= set(POOL)
    assert len(set(flat)) == len(flat) == sum(cups)


@given(SECRETS, st.lists(st.integers(0, 60), min_size=30, max_size=60))
def test_past_the_pool_a_waves_cups_differ_and_reuse_is_even(
    secret: bytes, cups: list[int]
) -> None:
    dealt = deal_codes(codes(secret), cups)
    assert all(len(set(wave)) == len(wave) for wave in dealt)
    uses = Counter(code for wave in dealt for code in wave)
    whole, rest = divmod(sum(cups), 585)
    assert set(uses.values()) <= {whole, whole + 1}
    assert len([code for code in POOL if uses[code] == whole + 1]) == rest


def test_a_wave_as_large_as_the_pool_gets_every_code_each_time() -> None:
    dealt = deal_codes(codes(), [3, 585, 585])
    assert [len(set(wave)) for wave in dealt] == [3, 585, 585]


def test_a_wave_with_more_cups_than_codes_is_refused_with_what_to_do() -> None:
    with pytest.raises(PanelError, match=r"needs 13 coded cups, but only 12 codes can") as refusal:
        deal_codes(codes(), [6, 13], excluded=POOL[12:])
    assert refusal.value.code == "too-many-cups"
    assert refusal.value.fault is Fault.INPUT
    assert "Plan smaller waves" in str(refusal.value)
    assert deal_codes(codes(), [6, 12], excluded=POOL[12:])


def test_codes_left_out_are_never_dealt() -> None:
    left_out = POOL[:500]
    flat = {code for wave in deal_codes(codes(), [36] * 10, left_out) for code in wave}
    assert flat == set(POOL[500:])


def test_the_first_reused_code_comes_after_all_585() -> None:
    flat = [code for wave in deal_codes(codes(), [18] * 40) for code in wave]
    assert len(set(flat[:585])) == 585


def test_codes_on_two_cups_are_found() -> None:
    assert reused_codes([("482", "153"), ("391", "482")]) == ("482",)
    assert reused_codes([("482", "153"), ("391", "527")]) == ()
