"""The secret on paper: it comes back whole, and a slip is found in its group."""

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.allocation.written_secret import ALPHABET, read_secret, written
from panel.core.errors import PanelError

SECRET = bytes(range(32))


@given(st.binary(min_size=32, max_size=32))
def test_what_is_written_is_read(secret):
    assert read_secret(" ".join(written(secret))) == secret


def test_the_groups_are_base_32_with_a_check_character():
    """RFC 4648 by the standard library; the first check by hand: A A A Q, 7·16 + 1 = 113, and
    113 mod 32 = 17, which is R."""
    groups = written(SECRET)
    assert base64.b32decode("".join(group[:4] for group in groups) + "====") == SECRET
    assert len(groups) == 13
    assert groups[0] == "AAAQR"


@pytest.mark.parametrize("change", [str.lower, lambda text: text.replace(" ", "-"), str.split])
def test_case_spaces_and_hyphens_do_not_matter(change):
    changed = change(" ".join(written(SECRET)))
    assert read_secret(changed if isinstance(changed, str) else "\n".join(changed)) == SECRET


def test_digits_that_are_misread_are_understood():
    groups = written(SECRET)
    typed = " ".join(groups).replace("O", "0").replace("I", "1").replace("B", "8")
    assert typed != " ".join(groups)
    assert read_secret(typed) == SECRET


@pytest.mark.parametrize("place", range(65))
def test_any_one_wrong_character_is_found_in_its_group(place):
    letters = "".join(written(SECRET))
    for other in set(ALPHABET) - {letters[place]}:
        with pytest.raises(PanelError) as refused:
            read_secret(letters[:place] + other + letters[place + 1 :])
        assert refused.value.field == "words"
        assert f"group {place // 5 + 1}" in str(refused.value.message)


def test_groups_that_changed_places_are_found():
    groups = list(written(SECRET))
    for first in range(12):
        moved = groups[:]
        moved[first], moved[first + 1] = moved[first + 1], moved[first]
        with pytest.raises(PanelError):
            read_secret(" ".join(moved))


@pytest.mark.parametrize("typed", ["", "ABCDE", "9" * 65, "A" * 66, "Ä" * 65])
def test_what_is_no_secret_is_refused_in_words(typed):
    with pytest.raises(PanelError, match="13 groups"):
        read_secret(typed)
