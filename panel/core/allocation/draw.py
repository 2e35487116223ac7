"""The counter stream behind every random choice: any language repeats it in a few lines.

A stream has a secret of 32 bytes and a purpose, a text. With || for joining bytes:

    block(i) = HMAC-SHA256(key = secret, message = UTF-8(purpose) || 0x00 || i as 8 bytes),

i counted from 0, most significant byte first. The 32 bytes of block 0, then of block 1 and so on
are read as numbers of 8 bytes each, most significant byte first: the words of the stream.

    below(n)        take the next word w; if w >= 2^64 - (2^64 mod n), throw it away and take the
                    next; the result is w mod n. Every 0 <= result < n is equally likely.
    shuffle(items)  for j from the last index down to 1: k = below(j + 1), swap items j and k
                    (Fisher-Yates; Knuth, The Art of Computer Programming 2, algorithm 3.4.2 P).

Python's own generator is not used: its shuffle may change between versions, and a draw must be
repeatable for as long as its seal is published. docs/draw.py is this draw once more, alone.
"""

import hmac
import struct
from collections.abc import Iterator, Sequence
from itertools import count
from typing import TypeVar

T = TypeVar("T")

SECRET_BYTES = 32
WORD_RANGE = 2**64

ORDERS = "orders"
CODES = "codes"
INFORMED = "informed"
COVER_NAMES = "cover names"
"""A beer has one cover name in all sittings: this purpose stands alone, without a sitting."""


def purpose_of(sitting_id: str, purpose: str) -> str:
    """The purpose of a sitting's own stream, such as "s1/orders"."""
    if not sitting_id or not purpose or "/" in purpose:
        raise ValueError("a sitting's stream needs the sitting's id and a purpose without a slash")
    return f"{sitting_id}/{purpose}"


def check_secret(secret: bytes) -> None:
    """Refuse a secret that is not 32 bytes long with a ValueError."""
    if len(secret) != SECRET_BYTES:
        raise ValueError(f"a secret has {SECRET_BYTES} bytes, this one has {len(secret)}")


class Stream:
    """Random choices from a secret for one purpose; each choice uses the stream up a little.

    secret: 32 bytes from the operating system's generator. purpose: not empty. Else ValueError.
    """

    def __init__(self, secret: bytes, purpose: str) -> None:
        check_secret(secret)
        if not purpose:
            raise ValueError("a stream needs a purpose")
        self._words = _words(secret, purpose)

    def below(self, n: int) -> int:
        """A whole number from 0 to n - 1, each equally likely; 1 <= n <= 2^64, else ValueError."""
        if not 1 <= n <= WORD_RANGE:
            raise ValueError(f"no number can be drawn below {n}")
        limit = WORD_RANGE - WORD_RANGE % n
        return next(word for word in self._words if word < limit) % n

    def shuffle(self, items: Sequence[T]) -> tuple[T, ...]:
        """The items in a random order, every order equally likely."""
        dealt = list(items)
        words = self._words
        for last in range(len(dealt) - 1, 0, -1):
            n = last + 1  # `below` written out: a deck of codes is drawn for every sitting
            limit = WORD_RANGE - WORD_RANGE % n
            word = next(words)
            while word >= limit:
                word = next(words)
            other = word % n
            dealt[last], dealt[other] = dealt[other], dealt[last]
        return tuple(dealt)


def _words(secret: bytes, purpose: str) -> Iterator[int]:
    begun = hmac.new(secret, purpose.encode("utf-8") + b"\x00", "sha256")
    for counter in count():
        block = begun.copy()
        block.update(counter.to_bytes(8, "big"))
        yield from struct.unpack(">4Q", block.digest())
