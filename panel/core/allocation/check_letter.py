"""The letter behind a card number: "17 S" for card 17, so that a mistyped number is refused.

The letter is the sum of i times the i-th digit, i = 1 for the first digit of the number (which has
no leading zeros), modulo 23, as an index into an alphabet without I, O and Q.

23 is a prime above 9 and above the count of digits, therefore every single wrong digit, every
swap of two digits (neighbours or not), every wrong twin (11 for 22) and every wrong letter is
caught, for all numbers up to 9999: the tests try each. A dropped or added digit is not always
caught: a zero at the end weighs nothing (1 B, 10 B and 100 B are all right), and of all single
digits dropped from numbers up to 9999, 6 in 100 leave a number with the same letter. The second
guard is for those: the code of the chosen cup has to be on that tray.
"""

import re
import unicodedata

from panel.core.errors import PanelError
from panel.core.message import say

ALPHABET = "ABCDEFGHJKLMNPRSTUVWXYZ"
HIGHEST_CARD_NUMBER = 9999

_TYPED = re.compile(r"(?P<number>[1-9][0-9]{0,3})[\s.-]*(?P<letter>[A-Z]?)")


def check_letter(number: int) -> str:
    """The check letter of a card number from 1 to 9999; else ValueError."""
    if not 1 <= number <= HIGHEST_CARD_NUMBER:
        raise ValueError(f"card numbers run from 1 to {HIGHEST_CARD_NUMBER}, not {number}")
    total = sum(weight * int(digit) for weight, digit in enumerate(str(number), start=1))
    return ALPHABET[total % len(ALPHABET)]


def card_number(number: int) -> str:
    """A card number as cards and screens show it: "17 S"."""
    return f"{number} {check_letter(number)}"


def parse_card_number(text: str, field: str | None = "card") -> int:
    """The card number in a typed text such as "17 S", "17s" or "17-S".

    PanelError "not-a-card-number", "missing-check-letter" or "wrong-check-letter", on `field`. The
    right letter is never told: it would make a wrong number pass.
    """
    typed = _TYPED.fullmatch(unicodedata.normalize("NFKC", text).strip().upper())
    if typed is None:
        raise PanelError(
            "not-a-card-number",
            say(
                "“%(typed)s” is not a card number. Type the number and the letter that stand on "
                "the card, like %(example)s.",
                typed=text,
                example=card_number(17),
            ),
            field=field,
        )
    number = int(typed["number"])
    if not typed["letter"]:
        raise PanelError(
            "missing-check-letter",
            say(
                "The letter of card %(number)s is missing. Type it as it stands behind the number "
                "on the card, like %(example)s.",
                number=str(number),
                example=card_number(17),
            ),
            field=field,
        )
    if typed["letter"] != check_letter(number):
        raise PanelError(
            "wrong-check-letter",
            say(
                "The number %(number)s and the letter %(letter)s do not belong together. Look at "
                "the card again and type both as they stand there.",
                number=str(number),
                letter=typed["letter"],
            ),
            field=field,
        )
    return number
