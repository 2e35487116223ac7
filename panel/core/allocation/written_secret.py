"""The secret as it stands on the sealed key sheet: thirteen groups of five characters.

The 32 bytes in base 32 (RFC 4648, A to Z and 2 to 7) are 52 characters; each four of them are
followed by a check character, so that a slip is found in its group before the whole is tried:

    check = (1·a + 3·b + 5·c + 7·d + group number from 1) mod 32, written in base 32

Odd weights make any one wrong character show; the group's number shows two groups that changed
places. The seal has the last word: only the secret that was sealed makes it again.
"""

import base64
from dataclasses import dataclass

from panel.core.allocation.draw import check_secret
from panel.core.errors import PanelError
from panel.core.message import Message, say

ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
GROUPS = 13
GROUP = 4
WEIGHTS = (1, 3, 5, 7)

_MISREAD = str.maketrans({"0": "O", "1": "I", "8": "B"})


@dataclass(frozen=True)
class WrittenSecret:
    """What the sealed key sheet holds beside the key: 32 bytes, and where members threw dice what
    they threw; the bytes are then the part under the lock (allocation.dice)."""

    bytes: bytes
    dice: str = ""


def written(secret: bytes) -> tuple[str, ...]:
    """The groups of a secret of 32 bytes."""
    check_secret(secret)
    letters = base64.b32encode(secret).decode("ascii").rstrip("=")
    parts = (letters[start : start + GROUP] for start in range(0, len(letters), GROUP))
    return tuple(part + _check(part, number) for number, part in enumerate(parts, start=1))


def read_secret(typed: str) -> bytes:
    """The secret in a typed or scanned text; spaces, hyphens and case do not matter.

    PanelError (field "words") naming the group in which something is wrong.
    """
    letters = "".join(typed.split()).replace("-", "").upper().translate(_MISREAD)
    if len(letters) != GROUPS * (GROUP + 1) or not set(letters) <= set(ALPHABET):
        raise _refused(
            say(
                "The secret has %(groups)s groups of five letters and digits (A to Z, 2 to 7), "
                "%(characters)s characters together; here are %(typed)s. Copy it from the sealed "
                "key once more.",
                groups=GROUPS,
                characters=GROUPS * (GROUP + 1),
                typed=len(letters),
            )
        )
    parts = []
    for number in range(1, GROUPS + 1):
        group = letters[(number - 1) * (GROUP + 1) : number * (GROUP + 1)]
        if _check(group[:GROUP], number) != group[GROUP]:
            raise _refused(
                say(
                    "Something is wrong in group %(number)s: “%(group)s”. Compare it with the "
                    "sealed key, letter by letter.",
                    number=number,
                    group=group,
                )
            )
        parts.append(group[:GROUP])
    secret = base64.b32decode("".join(parts) + "====")
    if written(secret)[-1] != letters[-(GROUP + 1) :]:  # 260 bits written, 256 meant
        raise _refused(
            say("The last group cannot be right. Compare it with the sealed key, letter by letter.")
        )
    return secret


def _check(part: str, number: int) -> str:
    total = sum(weight * ALPHABET.index(one) for weight, one in zip(WEIGHTS, part, strict=True))
    return ALPHABET[(total + number) % len(ALPHABET)]


def _refused(message: Message) -> PanelError:
    return PanelError("not-a-secret", message, field="words")
