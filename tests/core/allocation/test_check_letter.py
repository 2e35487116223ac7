"""The check letter, tried on every card number: what it catches, and what it does not."""

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.core.allocation.check_letter import (
    ALPHABET,
    HIGHEST_CARD_NUMBER,
    card_number,
    check_letter,
    parse_card_number,
)
from panel.core.errors import PanelError

NUMBERS = range(1, HIGHEST_CARD_NUMBER + 1)
LETTERS = {str(number): check_letter(number) for number in NUMBERS}


def refused(text: str) -> str | None:
    """The code of the refusal, or None if the text was taken."""
    try:
        parse_card_number(text)
    except PanelError as refusal:
        return refusal.code
    return None


def mistypes(digits: str) -> Iterator[str]:
    """Each number that differs in one digit; a leading zero included."""
    for place, right in enumerate(digits):
        for wrong in "0123456789":
            if wrong != right:
                yield digits[:place] + wrong + digits[place + 1 :]


def swaps(digits: str, apart: int) -> Iterator[str]:
    """Each number with two different digits, this far apart, swapped."""
    for place in range(len(digits) - apart):
        swapped = list(digits)
        swapped[place], swapped[place + apart] = swapped[place + apart], swapped[place]
        if swapped != list(digits):
            yield "".join(swapped)


def drops(digits: str) -> Iterator[str]:
    """Each number with one digit left out."""
    for place in range(len(digits)):
        yield digits[:place] + digits[place + 1 :]


@pytest.mark.parametrize(
    ("number", "letter"),
    [
        (1, "B"),  # 1
        (17, "S"),  # 1 + 2 × 7 = 15
        (203, "M"),  # 2 + 0 + 9 = 11
        (999, "J"),  # 9 × 6 = 54 = 8 (mod 23)
        (9999, "Y"),  # 9 × 10 = 90 = 21 (mod 23)
    ],
)
def test_letters_worked_out_by_hand(number: int, letter: str) -> None:
    assert "ABCDEFGHJKLMNPRSTUVWXYZ"[sum_by_hand(number) % 23] == letter
    assert check_letter(number) == letter
    assert card_number(number) == f"{number} {letter}"


def sum_by_hand(number: int) -> int:
    digits = [int(digit) for digit in str(number)]
    return sum((place + 1) * digits[place] for place in range(len(digits)))


def test_the_alphabet_has_23_letters_none_like_a_digit() -> None:
    assert len(set(ALPHABET)) == 23
    assert not set("IOQ") & set(ALPHABET)


def test_every_card_number_reads_back() -> None:
    assert [parse_card_number(card_number(number)) for number in NUMBERS] == list(NUMBERS)


@pytest.mark.parametrize("text", ["17 S", "17s", " 17S ", "17-s", "17 . S", "１７Ｓ", "17\tS"])
def test_ways_of_typing_that_are_taken(text: str) -> None:
    assert parse_card_number(text) == 17


def test_every_single_wrong_digit_is_caught() -> None:
    missed = [
        (digits, wrong)
        for digits, letter in LETTERS.items()
        for wrong in mistypes(digits)
        if LETTERS.get(wrong) == letter
    ]
    assert missed == []


@pytest.mark.parametrize("apart", [1, 2, 3])
def test_every_swap_of_two_digits_is_caught(apart: int) -> None:
    missed = [
        (digits, wrong)
        for digits, letter in LETTERS.items()
        for wrong in swaps(digits, apart)
        if LETTERS.get(wrong) == letter
    ]
    assert missed == []


def test_every_wrong_twin_is_caught() -> None:
    twins = [
        (digits, digits[:place] + 2 * wrong + digits[place + 2 :])
        for digits in LETTERS
        for place in range(len(digits) - 1)
        if digits[place] == digits[place + 1]
        for wrong in "0123456789"
        if wrong != digits[place]
    ]
    assert len(twins) > 20_000
    assert [pair for pair in twins if LETTERS.get(pair[1]) == LETTERS[pair[0]]] == []


def test_a_leading_zero_is_refused_so_that_no_mistype_hides_behind_it() -> None:
    """10 and 01 would otherwise share their letter, being 1 and 1 B."""
    assert refused("01B") == refused("00B") == "not-a-card-number"
    for digits, letter in LETTERS.items():
        for wrong in (*mistypes(digits), *swaps(digits, 1)):
            if wrong.startswith("0"):
                assert refused(wrong + letter) == "not-a-card-number"
        if len(digits) == 3:
            break


def test_every_wrong_letter_is_caught() -> None:
    for number in range(1, 500):
        right = check_letter(number)
        for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ":
            taken = refused(f"{number}{letter}") is None
            assert taken == (letter == right)


def test_what_the_letter_misses_is_what_its_module_says() -> None:
    """A zero dropped at the end, always; of all dropped digits, 6 in 100."""
    dropped = [(digits, left) for digits in LETTERS for left in drops(digits) if left in LETTERS]
    missed = [pair for pair in dropped if LETTERS[pair[0]] == LETTERS[pair[1]]]
    assert all((digits, digits[:-1]) in missed for digits in LETTERS if digits[-1] == "0")
    assert 0.055 < len(missed) / len(dropped) < 0.065


@pytest.mark.parametrize(
    ("text", "code", "sentence"),
    [
        ("17 K", "wrong-check-letter", "The number 17 and the letter K do not belong together"),
        ("17", "missing-check-letter", "The letter of card 17 is missing"),
        ("", "not-a-card-number", "is not a card number"),
        ("S17", "not-a-card-number", "“S17” is not a card number"),
        ("0", "not-a-card-number", "like 17 S"),
        ("12345 A", "not-a-card-number", "Type the number and the letter"),
        ("17 SS", "not-a-card-number", "is not a card number"),
        ("-17 S", "not-a-card-number", "is not a card number"),
    ],
)
def test_a_refusal_says_what_to_do_on_its_field(text: str, code: str, sentence: str) -> None:
    with pytest.raises(PanelError) as refusal:
        parse_card_number(text, field="number")
    assert refusal.value.code == code
    assert refusal.value.field == "number"
    assert sentence in str(refusal.value)


def test_a_refusal_never_tells_the_right_letter() -> None:
    refusals = []
    for number in range(20, 400):
        wrong = next(letter for letter in ALPHABET if letter != check_letter(number))
        with pytest.raises(PanelError) as refusal:
            parse_card_number(f"{number}{wrong}")
        refusals.append(f" {check_letter(number)} " in str(refusal.value))
    assert not any(refusals)


@given(st.text(max_size=12))
def test_any_text_is_taken_or_refused_in_words(text: str) -> None:
    assert refused(text) in (
        None,
        "not-a-card-number",
        "missing-check-letter",
        "wrong-check-letter",
    )


@pytest.mark.parametrize("number", [0, -1, 10_000])
def test_a_number_that_is_no_cards_has_no_letter(number: int) -> None:
    with pytest.raises(ValueError, match="1 to 9999"):
        check_letter(number)
