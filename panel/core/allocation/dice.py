"""A secret to which everybody in the room has added something: dice thrown, words called out.

Without it the organiser must be believed not to have tried secrets until one pleased. With it

    secret = HMAC-SHA256(key = 32 random bytes, message = the dice text, NFC, in UTF-8)

and the random bytes are fixed before the dice are thrown: their *lock*,

    lock = SHA-256({"draw":[facts of each sitting],"random":"<64 hex digits>"})

in canonical JSON (core.allocation.seal), is shown first. The lock also fixes what the draw depends
on besides the secret (docs/draw.md), so nothing is left to choose once the dice lie on the table.
Of this to be worth anything, somebody beside the organiser must note the lock before the throw.
"""

import hashlib
import hmac
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from panel.core.allocation.draw import check_secret
from panel.core.allocation.seal import canonical
from panel.core.errors import PanelError
from panel.core.message import say

LONGEST = 400


@dataclass(frozen=True)
class Dice:
    """The two parts of a secret: 32 random bytes, and what the members threw or called out."""

    own: bytes
    text: str

    def __post_init__(self) -> None:
        check_secret(self.own)
        if not self.text or self.text != tidy(self.text):
            raise ValueError("a dice text is not empty and tidy")

    def secret(self) -> bytes:
        """The secret that follows from both."""
        return hmac.digest(self.own, self.text.encode("utf-8"), "sha256")

    def words(self) -> dict[str, str]:
        """Both parts in JSON words."""
        return {"random": self.own.hex(), "text": self.text}


def from_words(words: Mapping[str, str]) -> Dice:
    """The parts that `words` wrote; ValueError, KeyError or TypeError for anything else."""
    return Dice(bytes.fromhex(words["random"]), words["text"])


def tidy(typed: str) -> str:
    """A dice text as it is used: NFC, every run of spaces and line ends one space."""
    return " ".join(unicodedata.normalize("NFC", typed).split())


def dice_text(typed: str) -> str:
    """The tidy text, "" for nothing; PanelError where it is too long to be read out."""
    text = tidy(typed)
    if len(text) > LONGEST:
        raise PanelError(
            "dice-too-long",
            say(
                "What the members add has %(length)s characters; at most %(longest)s are taken. A "
                "few throws of the dice are enough.",
                length=len(text),
                longest=LONGEST,
            ),
            field="dice",
        )
    return text


def lock_of(part: bytes, facts: Iterable[Mapping[str, Any]]) -> str:
    """The lock, 64 lower-case hex digits, of the 32 random bytes and the facts of every sitting
    (draw_facts, without the secret)."""
    words = {"draw": [dict(one) for one in facts], "random": part.hex()}
    return hashlib.sha256(canonical(words)).hexdigest()
