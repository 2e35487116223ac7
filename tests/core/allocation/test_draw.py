"""The counter stream: known answers from other programs, no bias, separate purposes."""

import hashlib
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chisquare

from panel.core.allocation.draw import Stream, purpose_of

SECRET = bytes(range(32))


def hmac_by_hand(secret: bytes, message: bytes) -> bytes:
    """HMAC-SHA256 as FIPS 198-1 writes it, without the hmac module (key shorter than a block)."""
    key = secret + bytes(64 - len(secret))
    inner = hashlib.sha256(bytes(byte ^ 0x36 for byte in key) + message).digest()
    return hashlib.sha256(bytes(byte ^ 0x5C for byte in key) + inner).digest()


def words_by_hand(purpose: str, count: int) -> list[int]:
    blocks = [
        hmac_by_hand(SECRET, purpose.encode() + b"\x00" + block.to_bytes(8, "big"))
        for block in range(count // 4 + 1)
    ]
    joined = b"".join(blocks)
    return [int.from_bytes(joined[8 * word : 8 * word + 8], "big") for word in range(count)]


def test_the_words_are_those_that_openssl_gives() -> None:
    """printf 's1/orders\\0' and eight bytes 0 (then 0…01) | openssl dgst -sha256 -mac HMAC
    -macopt hexkey:000102…1f (OpenSSL 3)."""
    stream = Stream(SECRET, "s1/orders")
    drawn = b"".join(stream.below(2**64).to_bytes(8, "big") for _ in range(8))
    assert drawn.hex() == (
        "5ef067632ef335afdad632de5e875750f06e6d45ce3192899af3e2d4330e799f"
        "0bc53a43e954a1ef7ef3c8ef2b4f06ae8278d1d618adc57c39c78d20ef7826c8"
    )


@pytest.mark.parametrize("purpose", ["s1/orders", "s1/codes", "cover names", "hütte/orders"])
def test_the_words_are_hmac_written_out_by_hand(purpose: str) -> None:
    stream = Stream(SECRET, purpose)
    assert [stream.below(2**64) for _ in range(100)] == words_by_hand(purpose, 100)


def test_a_word_in_the_unfair_tail_is_thrown_away() -> None:
    n = 2**63 + 1  # nearly every second word has to go
    kept = [word for word in words_by_hand("tail", 200) if word < n]
    stream = Stream(SECRET, "tail")
    assert 60 < len(kept) < 140
    assert [stream.below(n) for _ in kept] == kept


def test_a_shuffle_is_fisher_yates_from_the_last_index_down() -> None:
    words = iter(words_by_hand("shuffle", 50))
    expected = list("ABCDEFGHIJ")
    for last in range(9, 0, -1):
        other = next(words) % (last + 1)
        expected[last], expected[other] = expected[other], expected[last]
    assert Stream(SECRET, "shuffle").shuffle("ABCDEFGHIJ") == tuple(expected)


@given(st.binary(min_size=32, max_size=32), st.integers(1, 2**64))
def test_a_number_below_n_is_below_n(secret: bytes, n: int) -> None:
    assert 0 <= Stream(secret, "p").below(n) < n


@given(st.binary(min_size=32, max_size=32), st.lists(st.integers(), max_size=40))
def test_a_shuffle_keeps_every_item_and_the_callers_list(secret: bytes, items: list[int]) -> None:
    before = list(items)
    assert sorted(Stream(secret, "p").shuffle(items)) == sorted(items)
    assert items == before


def test_every_order_of_four_is_equally_likely() -> None:
    stream = Stream(SECRET, "uniform")
    counts = dict.fromkeys(permutations("ABCD"), 0)
    for _ in range(24_000):
        counts[stream.shuffle("ABCD")] += 1
    assert chisquare(list(counts.values())).pvalue > 0.001


def test_numbers_below_585_are_equally_likely() -> None:
    stream = Stream(SECRET, "below")
    counts = [0] * 585
    for _ in range(58_500):
        counts[stream.below(585)] += 1
    assert chisquare(counts).pvalue > 0.001


def test_streams_of_different_purpose_or_secret_share_nothing() -> None:
    def words(secret: bytes, purpose: str) -> set[int]:
        stream = Stream(secret, purpose)
        return {stream.below(2**64) for _ in range(100)}

    streams = [
        words(SECRET, purpose_of("s1", "orders")),
        words(SECRET, purpose_of("s1", "codes")),
        words(SECRET, purpose_of("s2", "orders")),
        words(bytes(32), purpose_of("s1", "orders")),
    ]
    assert len(set().union(*streams)) == 400


def test_a_sittings_purpose_names_the_sitting() -> None:
    assert purpose_of("s1", "orders") == "s1/orders"


@pytest.mark.parametrize(("sitting", "purpose"), [("", "orders"), ("s1", ""), ("s1", "a/b")])
def test_an_ambiguous_purpose_is_refused(sitting: str, purpose: str) -> None:
    with pytest.raises(ValueError, match="purpose without a slash"):
        purpose_of(sitting, purpose)


@pytest.mark.parametrize("secret", [b"", b"x" * 31, b"x" * 33])
def test_a_secret_of_another_length_is_refused(secret: bytes) -> None:
    with pytest.raises(ValueError, match="32 bytes"):
        Stream(secret, "orders")


def test_a_stream_needs_a_purpose() -> None:
    with pytest.raises(ValueError, match="purpose"):
        Stream(SECRET, "")


@pytest.mark.parametrize("n", [0, -1, 2**64 + 1])
def test_an_impossible_range_is_refused(n: int) -> None:
    with pytest.raises(ValueError, match="below"):
        Stream(SECRET, "p").below(n)
