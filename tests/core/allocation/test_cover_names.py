"""Cover names: neutral, different, and drawn without a preference."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chisquare

from panel.core.allocation.cover_names import NAMES, draw_cover_names
from panel.core.allocation.draw import COVER_NAMES, Stream

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"

SUGGESTIVE = (
    *("bitter", "hop", "malt", "wheat", "rye", "oat", "oak", "nut", "corn", "barley", "cider"),
    *("wine", "sherry", "oyster", "water", "shear", "sea", "salt", "sweet", "sour", "dark", "pale"),
    *("red", "gold", "black", "white", "green", "blue", "teal", "grey", "amber", "brown", "big"),
    *("great", "little", "small", "swift", "king", "queen", "royal", "common", "fine", "rare"),
    *("swallow", "thrush", "martin", "robin", "jay", "merlin", "first", "last", "old", "young"),
)
"""Parts that say something of a drink, its look, its rank or a person."""


def test_there_are_about_forty_different_names_easily_told_apart() -> None:
    assert len(NAMES) == len(set(NAMES)) >= 40
    assert len({name[:4] for name in NAMES}) == len(NAMES)
    assert all(name.isascii() and name.isalpha() and 4 <= len(name) <= 10 for name in NAMES)


def test_no_name_says_anything_of_a_drink() -> None:
    assert [name for name in NAMES for part in SUGGESTIVE if name.lower().startswith(part)] == []


@given(st.binary(min_size=32, max_size=32), st.integers(1, 26))
def test_every_beer_gets_a_name_of_its_own(secret: bytes, beers: int) -> None:
    names = draw_cover_names(Stream(secret, COVER_NAMES), LETTERS[:beers])
    assert list(names) == list(LETTERS[:beers])
    assert len(set(names.values())) == beers
    assert set(names.values()) <= set(NAMES)


def test_no_name_prefers_a_beer() -> None:
    counts = {letter: dict.fromkeys(NAMES, 0) for letter in "AB"}
    for number in range(3000):
        stream = Stream(number.to_bytes(32, "big"), COVER_NAMES)
        for letter, name in draw_cover_names(stream, "AB").items():
            counts[letter][name] += 1
    for letter in "AB":
        assert chisquare(list(counts[letter].values())).pvalue > 0.001


def test_more_beers_than_names_are_refused() -> None:
    letters = [str(number) for number in range(len(NAMES) + 1)]
    with pytest.raises(ValueError, match="cover names"):
        draw_cover_names(Stream(bytes(32), COVER_NAMES), letters)
