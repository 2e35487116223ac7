"""The seal: canonical bytes, known answers, and nothing changes unseen."""

import copy
import hashlib
import json
import unicodedata
from decimal import Decimal
from fractions import Fraction
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.allocation.seal import (
    canonical,
    check_seal,
    read_seal,
    seal_digest,
    seal_text,
    short_seal,
)
from panel.core.allocation.trays import draw_sitting, key_words
from panel.core.errors import PanelError

SECRET = bytes(range(32))
PLAN: dict[str, Any] = {"tasters": 24, "alpha": "0.05"}
KEY: dict[str, Any] = {"1": [["482", "A"], ["153", "B"]]}
DIGEST = "be4beccaa6032f6d5af7d057d2de25c4e578ccaf0c5cc0985e951b0d85e2cb43"

WORDS = st.text(st.characters(exclude_categories=("Cs", "Cn")), max_size=8)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | WORDS,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(WORDS.map(lambda word: unicodedata.normalize("NFC", word)), inner)
    ),
    max_leaves=12,
)


def test_the_seal_is_what_sha256sum_gives_for_the_bytes_written_by_hand() -> None:
    """printf '{"key":{"1":[["482","A"],["153","B"]]},"plan":{"alpha":"0.05","tasters":24},
    "secret":"000102…1f","version":1}' | sha256sum (GNU coreutils), without the line break."""
    assert seal_digest(PLAN, KEY, SECRET) == DIGEST


def test_canonical_bytes_follow_rfc_8785() -> None:
    """Sorting: the example of RFC 8785, 3.2.3, with a full-width A for its Hebrew letter, which
    NFC would take apart; escaping: section 3.2.2.2. Both from memory of the RFC."""
    value = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\uff21": "Full-width A",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    names = ["\r", "1", "\u0080", "\u00f6", "\u20ac", "\U0001f600", "\uff21"]
    assert list(json.loads(canonical(value))) == names
    written = canonical('\u20ac$\u000f\u000aA\'B"\\\\"/\x08\t\x0c\x7f')
    assert written == '"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/\\b\\t\\f\x7f"'.encode()


def test_canonical_bytes_have_no_spaces_and_sorted_names_all_the_way_down() -> None:
    value = {"b": [1, {"d": None, "c": True}], "a": ("x",)}
    assert canonical(value) == b'{"a":["x"],"b":[1,{"c":true,"d":null}]}'


def test_two_ways_of_writing_one_letter_are_one() -> None:
    assert canonical({"Mu\u0308nchen": "e\u0301"}) == canonical({"M\u00fcnchen": "\u00e9"})


@given(VALUES)
def test_canonical_bytes_read_back_to_the_same_bytes(value: Any) -> None:
    written = canonical(value)
    assert canonical(json.loads(written)) == written


@pytest.mark.parametrize("value", [0.5, float("nan"), Decimal("0.05"), Fraction(1, 3), b"x", {1}])
def test_a_value_with_no_single_way_of_writing_is_refused(value: object) -> None:
    with pytest.raises(TypeError, match="no canonical form"):
        canonical({"plan": [value]})


def test_a_name_that_is_no_text_is_refused() -> None:
    with pytest.raises(TypeError, match="names"):
        canonical({17: "ABA"})


@pytest.mark.parametrize(
    "value", [2**53, -(2**53), {"e\u0301": 1, "\u00e9": 2}, "\ud800"], ids=range(4)
)
def test_a_value_that_readers_would_change_is_refused(value: object) -> None:
    with pytest.raises(ValueError, match=r"as text|same text|surrogates"):
        canonical(value)


def changed(value: Any) -> list[Any]:
    """Every copy of a value in which one leaf or one name differs."""
    if isinstance(value, dict):
        copies = [{**value, name: part} for name in value for part in changed(value[name])]
        renamed = [{**value, name + "x": value[name]} for name in value]
        for name, copied in zip(value, renamed, strict=True):
            del copied[name]
        return copies + renamed
    if isinstance(value, list):
        at_each = [(index, part) for index in range(len(value)) for part in changed(value[index])]
        return [[*value[:index], part, *value[index + 1 :]] for index, part in at_each] + [
            value[1:]
        ]
    return [value + 1] if isinstance(value, int) else [value + "x", value + " "]


def test_no_change_of_plan_key_or_secret_goes_unseen() -> None:
    for plan in changed(PLAN):
        assert not check_seal(DIGEST, plan, KEY, SECRET)
    for key in changed(KEY):
        assert not check_seal(DIGEST, PLAN, key, SECRET)
    for bit in range(256):
        flipped = (int.from_bytes(SECRET, "big") ^ 1 << bit).to_bytes(32, "big")
        assert not check_seal(DIGEST, PLAN, KEY, flipped)
    for place, digit in product(range(64), "0f"):
        if DIGEST[place] != digit:
            forged = DIGEST[:place] + digit + DIGEST[place + 1 :]
            assert not check_seal(forged, PLAN, KEY, SECRET)
    assert check_seal(DIGEST, PLAN, KEY, SECRET)


@given(st.integers(0, 23), st.integers(0, 2))
def test_two_cups_swapped_in_a_real_key_are_seen(tray: int, cup: int) -> None:
    draw = draw_sitting(SECRET, "s1", 1, ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB"), 12, 6, False)
    key = key_words((draw,))
    seal = seal_digest(PLAN, key, SECRET)
    swapped = copy.deepcopy(key)
    cups = swapped[str(tray + 1)]
    cups[cup][1], cups[cup - 1][1] = cups[cup - 1][1], cups[cup][1]
    assert check_seal(seal, PLAN, swapped, SECRET) == (swapped == key)


def test_the_order_in_which_names_were_put_in_does_not_matter() -> None:
    assert seal_digest(dict(reversed(PLAN.items())), KEY, SECRET) == DIGEST


def test_the_printed_form_reads_back() -> None:
    printed = seal_text(DIGEST)
    groups = printed.split(" ")
    assert [len(group) for group in groups] == [4] * 16
    assert printed.startswith("be4b ecca a603")
    assert read_seal(printed) == DIGEST
    assert read_seal("  " + printed.upper().replace("af0c", "\naf0c")) == DIGEST
    assert check_seal(printed, PLAN, KEY, SECRET)
    assert short_seal(DIGEST) == "be4becca"


@pytest.mark.parametrize("text", ["", DIGEST[:-1], DIGEST + "0", "g" + DIGEST[1:], "x"])
def test_what_is_not_a_whole_seal_is_refused(text: str) -> None:
    with pytest.raises(PanelError, match="64 characters") as refusal:
        check_seal(text, PLAN, KEY, SECRET)
    assert refusal.value.code == "not-a-seal"


def test_a_secret_of_another_length_is_refused() -> None:
    with pytest.raises(ValueError, match="32 bytes"):
        seal_digest(PLAN, KEY, b"short")


def test_without_the_secret_a_small_plan_is_guessed_and_with_it_is_not() -> None:
    """Three triangle trays have 6 to the power 3 keys: whoever knows the codes tries them all."""
    orders = ("AAB", "ABA", "BAA", "BBA", "BAB", "ABB")
    codes = (("482", "153", "397"), ("264", "571", "839"), ("742", "415", "938"))

    def key(guess: tuple[str, ...]) -> dict[str, list[list[str]]]:
        return {
            str(number): [list(cup) for cup in zip(tray, order, strict=True)]
            for number, (tray, order) in enumerate(zip(codes, guess, strict=True), start=1)
        }

    truth = key(("BAB", "AAB", "BBA"))
    guesses = [key(guess) for guess in product(orders, repeat=3)]

    def bare(guess: dict[str, list[list[str]]]) -> str:
        return hashlib.sha256(canonical({"key": guess, "plan": PLAN})).hexdigest()

    assert [guess for guess in guesses if bare(guess) == bare(truth)] == [truth]
    sealed = seal_digest(PLAN, truth, hashlib.sha256(b"unknown to the guesser").digest())
    assert not any(check_seal(sealed, PLAN, guess, bytes(32)) for guess in guesses)
    assert sealed not in {bare(guess) for guess in guesses}
